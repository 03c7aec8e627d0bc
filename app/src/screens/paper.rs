//! The paper of a job: by name, by its sides, or a roll.

use super::quick::{PAPERS, paper};
use crate::state::session;
use crate::widgets::choice::{Choice, Choices};
use crate::widgets::typing::{TypedLength, Typing};
use leptos::prelude::*;
use samespot_core::job::{Edit, EntityRef, Entry, JobEdit, Payload};
use samespot_core::sheet::Paper;
use samespot_core::units::Length;

/// Rolls of this width are sold for most machines that print from one (36 in; common practice, no
/// source).
const USUAL_ROLL: Length = Length::from_mm(914.0);
/// A size that is none of those with a name: twice A3 (A2, ISO 216).
const USUAL_SIDES: [Length; 2] = [Length::from_mm(420.0), Length::from_mm(594.0)];

/// Which paper is in the printer.
#[component]
pub(super) fn PaperChoice(
    /// What it is now.
    #[prop(into)]
    of: Signal<Paper>,
) -> impl IntoView {
    let session = session();
    let say = move |paper: Paper| {
        let fields = JobEdit {
            paper: Some(paper),
            ..JobEdit::default()
        };
        let edit = session.book.with_untracked(|b| {
            let job = &b.as_ref()?.job;
            Edit::of(EntityRef::Job, &fields)
                .ok()?
                .still_to_say(job)
                .ok()?
        });
        if let Some(edit) = edit {
            session.say(&[Payload::Edit(edit)]);
        }
    };
    let mut choices: Vec<Choice> = PAPERS.iter().map(|(v, l)| Choice::words(v, l)).collect();
    choices.push(Choice::words("sides", "Another size"));
    choices.push(Choice::words("roll", "A roll"));
    let kind = Memo::new(move |_| match of.get() {
        Paper::Typed { .. } => "sides".to_owned(),
        Paper::Roll { .. } => "roll".to_owned(),
        named => named.name(),
    });
    let take = move |name: String| match name.as_str() {
        "sides" => {
            let [width, height] = USUAL_SIDES;
            say(Paper::Typed { width, height });
        }
        "roll" => say(Paper::Roll { width: USUAL_ROLL }),
        name => {
            if let Some(paper) = paper(name) {
                say(paper);
            }
        }
    };
    let typed = |mm: f64| Typing::of_length(Some(&Entry::of_mm(mm)));
    let fields = move || match (kind.get().as_str(), of.get_untracked()) {
        ("sides", Paper::Typed { width, height }) => {
            let (across, up) = (typed(width.mm()), typed(height.mm()));
            let done = move |_: bool| {
                if let Some((w, h)) = across.entry_now().zip(up.entry_now()) {
                    say(Paper::Typed {
                        width: w.mm,
                        height: h.mm,
                    });
                }
            };
            view! {
                <div class="fields">
                    <TypedLength id="paper-across" label="One side of the paper" typing=across done=done />
                    <TypedLength id="paper-up" label="The other side" typing=up done=done />
                </div>
            }
            .into_any()
        }
        ("roll", Paper::Roll { width }) => {
            let across = typed(width.mm());
            let done = move |_: bool| {
                if let Some(w) = across.entry_now() {
                    say(Paper::Roll { width: w.mm });
                }
            };
            view! {
                <div class="fields">
                    <TypedLength id="paper-roll" label="How wide the roll is; each template is cut off as long as it needs" typing=across done=done />
                </div>
            }
            .into_any()
        }
        _ => ().into_any(),
    };
    view! {
        <div class="paper-choice">
            <Choices legend="Paper" shown=true choices=choices taken=kind take=take />
            {fields}
        </div>
    }
}
