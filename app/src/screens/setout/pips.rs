//! Marks for the pattern: where pips go before the mould is made, and what they bring.

use super::folded::Folded;
use super::hand::Hand;
use crate::ports::{clock, files};
use crate::state::Session;
use leptos::prelude::*;
use leptos::task::spawn_local;
use samespot_core::answer::{Ask, Reply};
use samespot_core::prepare::setout::PipsView;

/// What is known of them.
#[derive(Debug, Clone, PartialEq)]
enum Looked {
    Nothing,
    Looking,
    Pips(Box<PipsView>),
    Cannot(String),
}

#[component]
pub(super) fn Pips(hand: Hand) -> impl IntoView {
    let looked = RwSignal::new(Looked::Nothing);
    // What was worked out goes with the face it was worked out for.
    Effect::new(move |_| {
        hand.looked.track();
        looked.set(Looked::Nothing);
        hand.pips.set(Vec::new());
    });
    let look = move |_| {
        let (Some(face), Some(book)) =
            (hand.face.get_untracked(), hand.session.book.get_untracked())
        else {
            return;
        };
        looked.set(Looked::Looking);
        spawn_local(async move {
            let ask = Ask::Pips {
                job: book.id().clone(),
                face,
            };
            let came = match Session::ask(book, ask).await {
                Ok((Reply::Pips(view), _)) => {
                    let spots = view.pips.iter().map(|p| (p.name.clone(), p.at_mm));
                    let _ = hand.pips.try_set(spots.collect());
                    Looked::Pips(view)
                }
                Ok(_) => return,
                Err(why) => Looked::Cannot(crate::say::job::capital(&why)),
            };
            let _ = looked.try_set(came);
        });
    };
    let sheet = move |_| {
        let (Some(face), Some(book)) =
            (hand.face.get_untracked(), hand.session.book.get_untracked())
        else {
            return;
        };
        spawn_local(async move {
            let ask = Ask::PipSheet {
                job: book.id().clone(),
                face,
                paper: book.job.about.paper.unwrap_or_default(),
                day: clock::day(),
            };
            match Session::ask(book, ask).await {
                Ok((Reply::File { name, media, .. }, bytes)) => {
                    files::download(&name, &media, &bytes);
                }
                Ok(_) => {}
                Err(why) => hand.session.notice(crate::say::job::capital(&why), true),
            }
        });
    };
    view! {
        <Folded id="setout-pips" name="Marks for the pattern" class="sheet setout-readings">
            <p class="second">"Before the mould is made: where pips would go so that every casting shows them"</p>
            {move || match looked.get() {
                Looked::Nothing => {
                    view! {
                        <button type="button" id="pips-look" class="key" on:click=look>
                            "Find the fewest that place everything"
                        </button>
                    }.into_any()
                }
                Looked::Looking => view! { <p role="status">"Looking…"</p> }.into_any(),
                Looked::Cannot(why) => view! { <p role="status">{why}</p> }.into_any(),
                Looked::Pips(found) => {
                    view! {
                        <ul class="pips">
                            {found.gains.iter().map(|g| view! { <li><strong>{g.clone()}</strong></li> }).collect_view()}
                        </ul>
                        <ol class="pips">
                            {found.pips.iter().map(|p| view! {
                                <li>
                                    <strong>{p.name.clone()}</strong>
                                    {if p.hidden { ", hidden: " } else { ": " }}
                                    {p.strike.clone()}
                                </li>
                            }).collect_view()}
                        </ol>
                        <ul class="pips second">
                            {found.notes.iter().map(|n| view! { <li>{n.clone()}</li> }).collect_view()}
                        </ul>
                        <button type="button" id="pips-sheet" class="key main" on:click=sheet>
                            "Download the drilling sheet, true size"
                        </button>
                    }.into_any()
                }
            }}
        </Folded>
    }
}
