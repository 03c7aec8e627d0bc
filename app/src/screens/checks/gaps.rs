//! One feature: what can be proved, the four gaps, the verdict, keeping it, letting it stand.

use super::model::{self, CLOCK};
use super::stands::LetStand;
use super::{Hand, picture};
use crate::say::numbers::{size, tenth};
use crate::state::Session;
use crate::widgets::length::Heard;
use leptos::prelude::*;
use leptos::task::spawn_local;
use samespot_core::answer::{Ask, Reply};
use samespot_core::check::Verdict;
use samespot_core::job::FeatureId;
use samespot_core::prepare::checks::{Judgement, method_words, verdict_words};

#[component]
fn Gap(id: &'static str, label: &'static str, text: RwSignal<String>) -> impl IntoView {
    let heard = move || model::heard(&text.get());
    let says = move || match heard() {
        Heard::Nothing => "not read yet".to_owned(),
        Heard::Length(l) => model::side(l.mm).to_owned(),
        Heard::Refused(why) => why,
        Heard::Ask { question, .. } => question,
        Heard::List(_) => "one gap at a time".to_owned(),
    };
    let step = move |by: i32| move |_| text.update(|t| *t = model::stepped(t, by));
    let inward = format!("{label}: half a millimetre further in");
    let outward = format!("{label}: half a millimetre further out");
    view! {
        <div class=format!("gap {id}")>
            <label for=id>{label}</label>
            <div class="gap-row">
                <button type="button" class="gap-key" aria-label=inward on:click=step(-1)>"−½"</button>
                <input
                    id=id
                    type="text"
                    inputmode="text"
                    autocomplete="off"
                    prop:value=move || text.get()
                    on:input=move |ev| text.set(event_target_value(&ev))
                />
                <button type="button" class="gap-key" aria-label=outward on:click=step(1)>"+½"</button>
            </div>
            <p class="second" aria-live="polite">{says}</p>
        </div>
    }
}

/// The feature in hand.
#[component]
pub(super) fn Gaps(hand: Hand, feature: FeatureId) -> impl IntoView {
    let feature = StoredValue::new(feature);
    let texts: [RwSignal<String>; 4] = core::array::from_fn(|_| RwSignal::new(String::new()));
    let judged = RwSignal::new(None::<Judgement>);
    let asked = StoredValue::new(0_u32);
    // Which of the questions the verdict on show answers: an older one is not kept with newer gaps.
    let answered = StoredValue::new(0_u32);
    let entries = Memo::new(move |_| model::entries(&texts.map(|t| t.get())));
    // Another piece: other gaps.
    Effect::new(move |before: Option<Option<samespot_core::job::PieceId>>| {
        let piece = hand.piece.get();
        if before.is_some_and(|b| b != piece) {
            texts.iter().for_each(|t| t.set(String::new()));
        }
        piece
    });
    Effect::new(move |_| {
        let (entries, piece) = (entries.get(), hand.piece.get());
        asked.update_value(|n| *n += 1);
        let number = asked.get_value();
        let (Some(entries), Some(piece), Some(book)) =
            (entries, piece, hand.session.book.get_untracked())
        else {
            judged.set(None);
            return;
        };
        spawn_local(async move {
            let ask = Ask::Judge {
                job: book.id().clone(),
                piece,
                feature: feature.get_value(),
                gaps: model::gaps(&entries),
            };
            let came = match Session::ask(book, ask).await {
                Ok((Reply::Judged(j), _)) => Some(*j),
                Ok(_) => None,
                Err(sentence) => {
                    hand.session.notice(sentence, true);
                    None
                }
            };
            if asked.try_get_value() == Some(number) {
                let _ = answered.try_set_value(number);
                let _ = judged.try_set(came);
            }
        });
    });
    let check = Memo::new(move |_| hand.check());
    let cannot = move || check.with(|c| c.as_ref().and_then(|c| c.cannot.clone()));
    let keep = move |_| {
        if answered.get_value() != asked.get_value() {
            return;
        }
        let (Some(entries), Some(j), Some(piece)) = (
            entries.get_untracked(),
            judged.get_untracked(),
            hand.piece.get_untracked(),
        ) else {
            return;
        };
        let facts = hand.session.book.with_untracked(|b| {
            b.as_ref()
                .map(|b| model::check(&b.job, &piece, &feature.get_value(), entries, j.found))
        });
        if let Some(facts) = facts {
            hand.session.say(&facts);
            texts.iter().for_each(|t| t.set(String::new()));
        }
    };
    view! {
        <section class="sheet checks-feature-sheet">
            <header class="checks-head">
                <h2>{move || check.with(|c| c.as_ref().map(|c| c.title.clone()))}</h2>
                <p>{move || check.with(|c| c.as_ref().filter(|c| c.cannot.is_none()).map(method_words))}</p>
                <ul class="second">
                    {move || check.with(|c| c.as_ref().map(|c| c.before.clone()).unwrap_or_default())
                        .into_iter().map(|b| view! { <li>{b}</li> }).collect_view()}
                </ul>
            </header>
            {move || cannot().map(|why| view! { <p class="checks-cannot">{why}</p> })}
            <div class="checks-measure" hidden=move || cannot().is_some()>
                <div>
                    <p><strong>"Lay the template back on its crosses. Read the gap between its line and the paint’s edge"</strong></p>
                    <div class="gap-clock">
                        {CLOCK.iter().zip(texts).map(|(&(id, label), text)| view! { <Gap id=id label=label text=text /> }).collect_view()}
                        <div class="gap-middle">
                            {move || picture::target(judged.get().as_ref(), check.get().as_ref())}
                        </div>
                    </div>
                </div>
                <div class="checks-verdict" role="status">
                    {move || match judged.get() {
                        None => view! {
                            <p class="second">"Four gaps make a verdict: + is paint outside the line, − inside"</p>
                        }.into_any(),
                        Some(j) => view! { <Said judgement=j /> }.into_any(),
                    }}
                    <button type="button" class="key main big" on:click=keep
                        aria-disabled=move || if judged.with(Option::is_some) { "false" } else { "true" }>
                        {move || if judged.with(Option::is_some) { "Keep this check" } else { "Read all four to keep it" }}
                    </button>
                    <Latest hand=hand feature=feature />
                </div>
            </div>
            <Run hand=hand />
        </section>
    }
}

#[component]
fn Said(judgement: Judgement) -> impl IntoView {
    let f = judgement.found;
    let word = verdict_words(f.verdict);
    view! {
        <p class="checks-word" class:outside=f.verdict == Verdict::Outside>{crate::say::job::capital(word)}</p>
        <p class="checks-found">{judgement.says}</p>
        {judgement.size_says.map(|s| view! { <p>{s}</p> })}
        <p class="second">{format!("± {} of {} mm asked for", tenth(f.guard), size(f.limit))}</p>
        {judgement.doubt.map(|d| view! { <p class="checks-cannot">{d}</p> })}
        {judgement.settle.map(|s| view! { <p>{s}</p> })}
    }
}

/// The newest check, and letting it stand.
#[component]
fn Latest(hand: Hand, feature: StoredValue<FeatureId>) -> impl IntoView {
    let stand = move |(by, why): (String, String)| {
        let Some(piece) = hand.piece.get_untracked() else {
            return;
        };
        if let Some(fact) = model::concession(&piece, &feature.get_value(), &by, &why) {
            hand.session.say(&[fact]);
        }
    };
    let latest = Memo::new(move |_| hand.check().and_then(|c| Some((c.latest?, c.concession))));
    let open = move || {
        latest.with(|l| {
            l.as_ref()
                .is_some_and(|(l, c)| l.found.verdict != Verdict::Within && c.is_none())
        })
    };
    view! {
        {move || latest.get().map(|(l, concession)| {
            let by = [l.who.clone(), l.when.clone()].into_iter().filter(|t| !t.is_empty()).collect::<Vec<_>>().join(", ");
            view! {
                <div class="checks-kept">
                    <p><strong>{format!("Kept: {}, {}", l.says, verdict_words(l.found.verdict))}</strong></p>
                    <p class="second">{by}</p>
                    {concession.map(|(by, why)| view! { <p>{format!("Let stand by {by}: {why}")}</p> })}
                </div>
            }
        })}
        <Show when=open>
            <LetStand id="stand".to_owned() stand=stand />
        </Show>
    }
}

/// The run so far.
#[component]
fn Run(hand: Hand) -> impl IntoView {
    let check = Memo::new(move |_| hand.check().filter(|c| c.run.len() > 1));
    view! {
        {move || check.get().map(|c| view! {
            <div class="checks-run">
                <h3>"The run so far"</h3>
                {c.drift.clone().map(|d| view! { <p class="checks-cannot">{d}</p> })}
                {picture::run(&c)}
                <p class="second">"How far out each piece is. Solid: the limit. Dashed: within for certain below, outside for certain above"</p>
            </div>
        })}
    }
}
