//! The picture that follows each keystroke.
//!
//! What stands on the cards is laid out as a job of its own that nobody keeps: each keystroke
//! sends only what it changed.

use crate::ports::worker::{self, Brief, Line};
use crate::ports::{clock, ids};
use base64::prelude::{BASE64_STANDARD, Engine as _};
use samespot_core::answer::{Ask, FactTexts, LivePicture, Reply};
use samespot_core::job::{Fact, Ledger, QuickCards, QuickIds, ReplicaId, Writer};
use samespot_core::write::job::Attachments;
use std::cell::RefCell;

/// The passing job begins again after so many facts: folding must stay well under a frame.
const MOST_FACTS: usize = 150;

struct Passing {
    ledger: Ledger,
    generation: u32,
    attached: usize,
}

thread_local! {
    static PASSING: RefCell<Option<Passing>> = const { RefCell::new(None) };
}

fn brief(ledger: &Ledger, attachments: &Attachments) -> Brief {
    Brief {
        job: ledger.job_id().clone(),
        facts: ledger.everything().map(Fact::bytes).collect(),
        attachments: attachments
            .iter()
            .map(|(hash, bytes)| (hash.clone(), BASE64_STANDARD.encode(bytes)))
            .collect(),
    }
}

/// What changed since the last picture: everything, where the worker can't know the job.
fn news(cards: &QuickCards, attachments: &Attachments) -> Result<Brief, String> {
    let generation = worker::generation(Line::Picture);
    let taken = PASSING.with_borrow_mut(Option::take).filter(|p| {
        p.ledger.len() < MOST_FACTS && p.generation == generation && p.attached == attachments.len()
    });
    let begun = taken.is_some();
    let mut passing = match taken {
        Some(passing) => passing,
        None => Passing {
            ledger: Ledger::new(ids::job().ok_or("no name for the picture")?),
            generation,
            attached: attachments.len(),
        },
    };
    let writer = Writer {
        replica: ReplicaId(1),
        who: String::new(),
        wall: String::new(),
    };
    let job = passing.ledger.fold();
    let changes = cards
        .changes(&passing.ledger, &job, &clock::day())
        .map_err(|e| e.to_string())?;
    let mut facts = Vec::new();
    for change in &changes {
        let fact = passing
            .ledger
            .write(&writer, change)
            .map_err(|e| e.to_string())?;
        facts.push(fact);
    }
    let news = if begun {
        Brief {
            job: passing.ledger.job_id().clone(),
            facts: facts.iter().map(Fact::bytes).collect(),
            attachments: Vec::new(),
        }
    } else {
        brief(&passing.ledger, attachments)
    };
    PASSING.with_borrow_mut(|p| *p = Some(passing));
    Ok(news)
}

/// The picture of these cards.
///
/// # Errors
/// The sentence that stands in its place.
pub(super) async fn picture(
    cards: &QuickCards,
    piece: u32,
    attachments: &Attachments,
) -> Result<LivePicture, String> {
    let some = news(cards, attachments)?;
    let ids = QuickIds::fixed().map_err(|e| e.to_string())?;
    let (_, piece) = QuickIds::piece(piece).map_err(|e| e.to_string())?;
    let ask = Ask::Live {
        job: some.job.clone(),
        feature: ids.spot,
        piece,
    };
    let what = worker::TooLarge::asked_by(&ask);
    let job = some.job.clone();
    let news = (!some.facts.is_empty()).then_some(some);
    // Only a worker that died meanwhile needs everything: it is put together when asked for.
    let asked = worker::ask(Line::Picture, ask, news, || {
        PASSING
            .with_borrow(|p| p.as_ref().map(|p| brief(&p.ledger, attachments)))
            .unwrap_or(Brief {
                job,
                facts: FactTexts::default(),
                attachments: Vec::new(),
            })
    });
    match worker::sentence(asked.await, what)? {
        (Reply::Live(live), _) => Ok(*live),
        _ => Err("another answer came than was asked for".into()),
    }
}
