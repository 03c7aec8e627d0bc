//! Checks: is this piece right? The template laid back, four gaps by rule, a verdict in words, the
//! run so far, the record to hand over.

mod asking;
mod gaps;
mod latest;
mod marks;
pub mod model;
mod named;
mod overview;
mod pairs;
mod picture;
mod run_so_far;
mod signing;

use crate::ports::clock;
use crate::route::Route;
use crate::state::{Session, session};
use gaps::Gaps;
use leptos::prelude::*;
use leptos::task::spawn_local;
use overview::Overview;
use pairs::Pairs;
use samespot_core::answer::{Ask, Reply};
use samespot_core::job::{FeatureId, Payload, PieceId};
use samespot_core::prepare::checks::FeatureCheck;
use samespot_core::prepare::pair_checks::PairCheck;
use signing::Signing;

/// What is known of a piece.
#[derive(Debug, Clone, PartialEq)]
enum Looked {
    Nothing,
    Looking,
    Features(Vec<FeatureCheck>, Vec<PairCheck>),
    Cannot(String),
}

/// The piece in hand and what is known of it.
#[derive(Clone, Copy)]
struct Hand {
    session: Session,
    piece: Memo<Option<PieceId>>,
    feature: Memo<Option<FeatureId>>,
    looked: RwSignal<Looked>,
}

impl Hand {
    fn begin() -> Self {
        let session = session();
        let piece = Memo::new(move |_| session.route.get().piece().cloned());
        let feature = Memo::new(move |_| match session.route.get() {
            Route::Checks { feature, .. } => feature,
            _ => None,
        });
        let hand = Self {
            session,
            piece,
            feature,
            looked: RwSignal::new(Looked::Nothing),
        };
        let asked = StoredValue::new(0_u32);
        let shown = StoredValue::new(None::<PieceId>);
        Effect::new(move |_| {
            let (piece, book) = (piece.get(), session.book.get());
            asked.update_value(|n| *n += 1);
            let number = asked.get_value();
            let (Some(piece), Some(book)) = (piece, book) else {
                hand.looked.set(Looked::Nothing);
                return;
            };
            if shown.get_value().as_ref() != Some(&piece) {
                // Nothing moves under the finger meanwhile: what is asked of a feature is the same
                // on its sisters, what was found is not.
                hand.looked.update(|looked| {
                    *looked = match core::mem::replace(looked, Looked::Looking) {
                        Looked::Features(all, _) => Looked::Features(
                            all.into_iter().map(model::unchecked).collect(),
                            Vec::new(),
                        ),
                        _ => Looked::Looking,
                    };
                });
                shown.set_value(Some(piece.clone()));
            }
            spawn_local(async move {
                let ask = Ask::Checks {
                    job: book.id().clone(),
                    piece,
                };
                let came = match Session::ask(book, ask).await {
                    Ok((Reply::Checks { features, pairs }, _)) => Looked::Features(features, pairs),
                    Ok(_) => return,
                    Err(sentence) => Looked::Cannot(sentence),
                };
                if asked.try_get_value() == Some(number) {
                    let _ = hand.looked.try_set(came);
                }
            });
        });
        hand
    }

    /// Says something where there is something to say; whether it was kept.
    fn says(&self, fact: Option<Payload>) -> bool {
        !self.session.say(fact.as_slice()).is_empty()
    }

    /// The feature in hand.
    fn check(&self) -> Option<FeatureCheck> {
        let feature = self.feature.get()?;
        match self.looked.get() {
            Looked::Features(all, _) => all.into_iter().find(|c| c.feature == feature),
            _ => None,
        }
    }
}

/// The screen.
#[component]
pub fn Checks() -> impl IntoView {
    let hand = Hand::begin();
    // What is in hand is what the address says, also while a piece is looked over: a gap typed
    // meanwhile stays.
    let in_hand = Memo::new(move |_| {
        let feature = hand.piece.get().and(hand.feature.get())?;
        let known = hand.session.book.with(|b| {
            b.as_ref()
                .is_some_and(|b| b.job.features.contains_key(&feature))
        });
        known.then_some(feature)
    });
    view! {
        <div class="checks">
            <section class="sheet checks-list" aria-labelledby="checks-title">
                <h1 id="checks-title">"Checks"</h1>
                <Features hand=hand />
                <Pairs hand=hand />
                <Records hand=hand />
            </section>
            <div class="checks-work">
                {move || match in_hand.get() {
                    Some(feature) => view! { <Gaps hand=hand feature=feature /> }.into_any(),
                    None => view! { <Empty hand=hand /> }.into_any(),
                }}
                <Show when=move || in_hand.with(Option::is_none)>
                    <Overview hand=hand />
                </Show>
                <Signing hand=hand run=false />
                <Signing hand=hand run=true />
            </div>
        </div>
    }
}

#[component]
fn Empty(hand: Hand) -> impl IntoView {
    let says = move || match (hand.piece.get(), hand.looked.get()) {
        (None, _) => "Choose a piece below, or what to check on it from the run".to_owned(),
        (_, Looked::Looking) => "Looking the piece over…".to_owned(),
        (_, Looked::Cannot(why)) => why,
        _ => "Choose what to check. You need its template (or a clear film of it), and a rule"
            .to_owned(),
    };
    view! { <p class="sheet checks-empty" role="status">{says}</p> }
}

#[component]
fn Features(hand: Hand) -> impl IntoView {
    view! {
        <nav class="checks-features" aria-label="What can be checked">
            {move || {
                let (Some(piece), Some(job)) = (hand.piece.get(), hand.session.route.get().job().cloned()) else {
                    return Vec::new();
                };
                let key = |feature: &FeatureId, title: String, state: Option<&'static str>, second: Option<String>| {
                    let route = Route::Checks {
                        job: job.clone(),
                        piece: Some(piece.clone()),
                        feature: Some(feature.clone()),
                    };
                    let here = hand.feature.get().as_ref() == Some(feature);
                    view! {
                        <a class="checks-feature" href=route.address() aria-current=here.then_some("true")>
                            <strong>{title}</strong>
                            <span class="verdict">{state}</span>
                            <span class="second">{second}</span>
                        </a>
                    }
                };
                match hand.looked.get() {
                    Looked::Features(all, _) => all
                        .into_iter()
                        .map(|c| {
                            let second = c.latest.as_ref().map(|l| l.says.clone());
                            key(&c.feature, c.title.clone(), Some(model::state(&c)), second)
                        })
                        .collect(),
                    // As many of them as there will be: what stands below does not move when they come.
                    Looked::Looking => hand.session.book.with(|b| {
                        let names = b.as_ref().map(|b| model::named(&b.job)).unwrap_or_default();
                        names.into_iter().map(|(id, name)| key(&id, name, None, None)).collect()
                    }),
                    Looked::Nothing | Looked::Cannot(_) => Vec::new(),
                }
            }}
        </nav>
    }
}

#[component]
fn Records(hand: Hand) -> impl IntoView {
    let busy = RwSignal::new(false);
    let save = move |one: bool| {
        move |_| {
            let Some(book) = hand.session.book.get_untracked() else {
                return;
            };
            let ask = Ask::Record {
                job: book.id().clone(),
                piece: if one {
                    hand.piece.get_untracked()
                } else {
                    None
                },
                paper: book.job.about.paper.unwrap_or_default(),
                day: clock::day(),
            };
            spawn_local(hand.session.download(book, ask, busy));
        }
    };
    let table = move |_| {
        let Some(book) = hand.session.book.get_untracked() else {
            return;
        };
        let ask = Ask::RecordTable {
            job: book.id().clone(),
            piece: None,
            day: clock::day(),
        };
        spawn_local(hand.session.download(book, ask, busy));
    };
    view! {
        <div class="checks-records">
            <Show when=move || hand.piece.get().is_some()>
                <button type="button" class="key" on:click=save(true)>
                    {move || if busy.get() { "Making…" } else { "Record of this piece (PDF)" }}
                </button>
            </Show>
            <button type="button" class="key" on:click=save(false)>"Record of the run (PDF)"</button>
            <button type="button" class="key" on:click=table>"Record of the run (table)"</button>
        </div>
    }
}
