//! Going back to the open entry: first what that would take back, then doing it.

use super::first;
use super::hand::Hand;
use crate::state::Session;
use crate::widgets::looked::Looked;
use leptos::prelude::*;
use leptos::task::spawn_local;
use samespot_core::answer::{Ask, Reply};
use samespot_core::job::FactId;
use samespot_core::prepare::history::GoingBack;
use std::sync::Arc;

/// So many entries are told before it is done.
const MOST: usize = 30;

/// *Go back to here…*, with what it would do.
#[component]
pub(super) fn GoBack(hand: Hand, to: FactId) -> impl IntoView {
    let seen = RwSignal::new(None::<Looked<GoingBack>>);
    let asked = StoredValue::new(0_u32);
    // Something was said meanwhile: what was shown may not be all of it any more.
    Effect::new(move |before: Option<()>| {
        hand.session.book.track();
        asked.update_value(|n| *n += 1);
        if before.is_some() {
            seen.set(None);
        }
    });
    let look = move |_| {
        let Some(book) = hand.session.book.get_untracked() else {
            return;
        };
        let ask = Ask::GoingBack {
            job: book.id().clone(),
            to,
            own: hand.session.own_writers(),
            most: MOST,
        };
        seen.set(Some(Looked::Working));
        asked.update_value(|n| *n += 1);
        let number = asked.get_value();
        spawn_local(async move {
            let looked = match Session::ask(book, ask).await {
                Ok((Reply::GoingBack(view), _)) => Looked::View(Arc::from(view)),
                Ok(_) => return,
                Err(why) => Looked::Cannot(why),
            };
            if asked.try_get_value() == Some(number) {
                let _ = seen.try_set(Some(looked));
            }
        });
    };
    view! {
        <div class="history-back">
            {move || match seen.get() {
                None => view! {
                    <button type="button" class="key" on:click=look>"Go back to here…"</button>
                }
                .into_any(),
                Some(Looked::Working) => {
                    view! { <p class="waiting" role="status">"Looking what that would take back…"</p> }.into_any()
                }
                Some(Looked::Cannot(why)) => view! { <p role="status">{why}</p> }.into_any(),
                Some(Looked::View(view)) => view! { <Sure hand=hand view=view seen=seen /> }.into_any(),
            }}
        </div>
    }
}

/// What stays although it goes back.
fn stays(view: &GoingBack) -> Vec<String> {
    let mut said: Vec<String> = view
        .others
        .iter()
        .map(|(who, n)| {
            let entries = if *n == 1 { "entry" } else { "entries" };
            format!("{n} {entries} of {who}: only there can they be taken back")
        })
        .collect();
    match view.printed {
        0 => {}
        1 => said.push("1 printed sheet: it exists. Scrap it if it no longer holds".into()),
        n => said.push(format!(
            "{n} printed sheets: they exist. Scrap those that no longer hold"
        )),
    }
    said
}

#[component]
fn Sure(
    hand: Hand,
    view: Arc<GoingBack>,
    seen: RwSignal<Option<Looked<GoingBack>>>,
) -> impl IntoView {
    let count = view.take_back.len();
    let head = match count {
        0 => "Nothing entered on this device since then counts: there is nothing to take back"
            .to_owned(),
        1 => "Going back to here takes back 1 entry of this device:".to_owned(),
        n => format!("Going back to here takes back {n} entries of this device, the newest first:"),
    };
    let told: Vec<String> = view
        .told
        .iter()
        .map(|e| {
            format!(
                "{}: {}: {}",
                e.place,
                crate::say::job::capital(&e.about),
                first(e)
            )
        })
        .collect();
    let rest = count - told.len().min(count);
    let stays = stays(&view);
    let all = view.take_back.clone();
    let go = move |_| {
        hand.session.take_back(&all);
        let _ = seen.try_set(None);
    };
    view! {
        <div role="status">
            <p><strong>{head}</strong></p>
            <ul class="history-changed">{told.into_iter().map(|t| view! { <li>{t}</li> }).collect_view()}</ul>
            {(rest > 0).then(|| view! { <p class="second">{format!("and {rest} more")}</p> })}
            {(!stays.is_empty()).then(|| view! {
                <p><strong>"This stays:"</strong></p>
                <ul class="history-changed">{stays.into_iter().map(|t| view! { <li>{t}</li> }).collect_view()}</ul>
            })}
        </div>
        <div class="job-row">
            {(count > 0).then(|| view! {
                <button type="button" class="key main" on:click=go>
                    {if count == 1 { "Take it back and go there".to_owned() } else { format!("Take all {count} back and go there") }}
                </button>
            })}
            <button type="button" class="key" on:click=move |_| seen.set(None)>"Leave it as it is"</button>
        </div>
        <p class="second">"Taking back is an entry too: Undo brings all of it back"</p>
    }
}
