//! Readings of the pattern: the one asked for next, a big field for it, and all of them in a table.

use super::hand::Hand;
use super::model::{self, TakenWith};
use super::{rod, to_do};
use crate::ports::fields;
use crate::say::numbers::tenth;
use crate::widgets::choice::{Choice, Choices};
use crate::widgets::typing::{TypedLength, Typing};
use leptos::prelude::*;
use samespot_core::job::{
    FactId, FeatureId, LineSide, MarkId, Measured, Payload, PointRef, Withdrawal,
};
use samespot_core::prepare::setout::{ReadingView, Stands};

/// How a point is named in a list of choices.
fn key(point: &PointRef) -> String {
    match point {
        PointRef::Mark(id) => format!("mark {id}"),
        PointRef::Feature(id) => format!("feature {id}"),
    }
}

fn of_key(text: &str) -> Option<PointRef> {
    let (kind, id) = text.split_once(' ')?;
    match kind {
        "mark" => MarkId::new(id).ok().map(PointRef::Mark),
        _ => FeatureId::new(id).ok().map(PointRef::Feature),
    }
}

/// The name in the page of the key that takes a reading up again.
fn change_key(fact: FactId) -> String {
    format!("reading-change-{:016x}-{}", fact.replica.0, fact.seq)
}

#[component]
pub(super) fn Readings(hand: Hand) -> impl IntoView {
    let typing = Typing::of_length(None);
    let beside = Typing::either_side(None, "less", "more");
    let doesnt = Typing::of_length(None);
    let with = RwSignal::new("over".to_owned());
    let changing = RwSignal::new(None::<ReadingView>);
    let doubted = RwSignal::new(None::<(String, String)>);
    let proposed = Memo::new(move |_| hand.view().and_then(|v| to_do::next_reading(&v)));
    let ends = Memo::new(move |_| hand.ends.get().or_else(|| proposed.get().map(|(e, _)| e)));
    let titles = Memo::new(move |_| {
        hand.view()
            .map(|v| {
                to_do::points(&v)
                    .into_iter()
                    .map(|(p, title, _)| match p {
                        PointRef::Mark(_) => (p, title),
                        PointRef::Feature(_) => (p, format!("middle of {title}")),
                    })
                    .collect::<Vec<_>>()
            })
            .unwrap_or_default()
    });
    let marked = move || {
        let face = hand.face.get();
        face.and_then(|f| hand.of_job(|j| model::marks(j, &f).len() >= 2)) == Some(true)
    };
    let wants = move || {
        if marked() {
            "Say what the face is like, and how big: then each distance is asked for here"
        } else {
            "Add two marks first: then each distance is asked for here"
        }
    };
    let enough = move || titles.with(|t| t.len() >= 2);
    let title_of = move |p: &PointRef| {
        titles.with(|t| {
            let found = t.iter().find(|(q, _)| q == p);
            found.map_or_else(String::new, |(_, n)| n.clone())
        })
    };
    let words = move || {
        let [from, to] = ends.get()?;
        let title =
            |p: &PointRef| titles.with(|t| t.iter().find(|(q, _)| q == p).map(|(_, n)| n.clone()));
        Some(format!("{} to {}", title(&from)?, title(&to)?))
    };
    // What is read against up may be nothing, or less.
    let against_up = move || match changing.get() {
        Some(reading) => reading.of.stood().is_some(),
        None => matches!(with.get().as_str(), "level" | "plumb"),
    };
    let by_rod = move || with.get() == "rod" && changing.with(Option::is_none);
    let label = Signal::derive(move || match changing.get() {
        Some(reading) => reading.words,
        None => match (ends.get(), with.get().as_str()) {
            (Some(e), "level") => format!(
                "{} stands above {} by (0 where level, − where lower)",
                title_of(&e[1]),
                title_of(&e[0])
            ),
            (Some(e), "plumb") => format!(
                "{} lies right of the plumb line through {} by (− to its left)",
                title_of(&e[1]),
                title_of(&e[0])
            ),
            (Some(_), "rod") => {
                format!("{}: the end that goes", words().unwrap_or_default())
            }
            _ => words().unwrap_or_else(|| "Choose from and to".into()),
        },
    });
    let doesnt_label = Signal::derive(|| "The end that doesn’t".to_owned());
    let why = move || match (changing.get(), hand.ends.get(), proposed.get()) {
        (Some(_), ..) => "Typed again: the old one is kept beside it",
        (_, Some(_), _) => "Chosen by you",
        (_, None, Some((_, true))) => "Asked for next",
        (_, None, Some((_, false))) => {
            "Nothing checks these readings; this one more would show a slip"
        }
        (_, None, None) => "Every point is held. To read one more, choose from where to where",
    };
    let keep = move |sure: bool| {
        let field = if untrack(against_up) { beside } else { typing };
        let Some(entry) = field.entry_now() else {
            return;
        };
        if untrack(by_rod) {
            let said = doesnt.entry_now().and_then(|other| {
                let (ends, casting) = ends.get_untracked().zip(hand.pattern())?;
                hand.with_job(|j| rod::read_between(j, &casting, ends, &entry, &other))
            });
            match said {
                Some(Some(said)) => {
                    hand.say(&said);
                    typing.set("");
                    doesnt.set("");
                    hand.ends.set(None);
                }
                Some(None) => hand.session.notice(
                    "The end that goes and the end that doesn’t can’t be the same length: type both as filed",
                    true,
                ),
                None => {}
            }
            return;
        }
        let straight = match changing.get_untracked() {
            Some(reading) => matches!(reading.of, Measured::Straight { .. }),
            None => with.get_untracked() == "straight",
        };
        let doubt = (hand.view().filter(|_| !sure && !untrack(against_up)))
            .and_then(|view| to_do::too_long(&view, entry.mm, straight));
        let waits = doubt.is_some();
        doubted.set(doubt.map(|asks| (asks, entry.typed.clone())));
        if waits {
            return;
        }
        let said = match changing.get_untracked() {
            Some(reading) => Some(vec![model::correct(reading.fact, entry)]),
            None => ends
                .get_untracked()
                .zip(hand.pattern())
                .and_then(|(ends, casting)| {
                    let with = TakenWith::named(&with.get_untracked());
                    hand.with_job(|j| model::read(j, &casting, ends, entry, with))
                }),
        };
        if let Some(said) = said {
            hand.say(&said);
            field.set("");
            changing.set(None);
            hand.ends.set(None);
        }
    };
    // Back to the key in the table from which it was taken up.
    let leave = move || {
        let was = changing.get_untracked();
        changing.set(None);
        typing.set("");
        beside.set("");
        if let Some(was) = was {
            fields::focus(change_key(was.fact));
        }
    };
    let by_key = move |by_key: bool| {
        // Leaving the field is no word: the reading in hand may change under it.
        if by_key {
            keep(false);
        }
    };
    let set_end = move |first: bool| {
        move |ev: leptos::ev::Event| {
            let Some(point) = of_key(&event_target_value(&ev)) else {
                return;
            };
            let now = ends.get_untracked();
            let other = titles
                .with_untracked(|t| t.iter().find(|(p, _)| *p != point).map(|(p, _)| p.clone()));
            let Some(other) = now
                .map(|[a, b]| if first { b } else { a })
                .filter(|o| *o != point)
                .or(other)
            else {
                return;
            };
            changing.set(None);
            hand.ends.set(Some(if first {
                [point, other]
            } else {
                [other, point]
            }));
        }
    };
    let select = move |id: &'static str, label: &'static str, first: bool| {
        let is = move || ends.get().map(|[a, b]| if first { a } else { b });
        view! {
            <label class="job-field">
                <span>{label}</span>
                <select id=id on:change=set_end(first) prop:value=move || is().map(|p| key(&p)).unwrap_or_default()>
                    <Show when=move || is().is_none()><option value="">"choose"</option></Show>
                    {move || titles.get().into_iter().map(|(p, title)| {
                        let here = is().as_ref() == Some(&p);
                        view! { <option value=key(&p) selected=here>{title}</option> }
                    }).collect_view()}
                </select>
            </label>
        }
    };
    let asks_side = Memo::new(move |_| {
        hand.view().is_some_and(|v| {
            to_do::points(&v)
                .iter()
                .any(|(_, _, s)| matches!(s, Stands::EitherSide { .. }))
        })
    });
    let ready = move || {
        let field = if against_up() { beside } else { typing };
        !field.is_empty() && (!by_rod() || !doesnt.is_empty())
    };
    view! {
        <section class="sheet setout-readings" aria-labelledby="setout-readings">
            <h2 id="setout-readings">"Readings of the pattern"</h2>
            <Show when=enough fallback=move || view! { <p class="second">{wants}</p> }>
                <EitherSides hand=hand />
                <div class="setout-next" hidden=move || asks_side.get() on:keydown=move |ev| {
                    if ev.key() == "Escape" && changing.with_untracked(Option::is_some) {
                        ev.prevent_default();
                        leave();
                    }
                }>
                    <p class="second" role="status">{why}</p>
                    <div hidden=move || ends.get().is_none() && changing.get().is_none()>
                        <Show when=against_up fallback=move || view! {
                            <TypedLength id="reading-value" label=label typing=typing done=by_key />
                        }>
                            <TypedLength id="reading-beside" label=label typing=beside done=by_key />
                        </Show>
                        <Show when=by_rod>
                            <TypedLength id="reading-doesnt" label=doesnt_label typing=doesnt done=by_key />
                        </Show>
                    </div>
                    {move || doubted.get().filter(|(_, typed)| typing.entry().is_some_and(|e| e.typed == *typed)).map(|(asks, typed)| view! {
                        <div class="ask-first" role="alert">
                            <p>{asks}</p>
                            <div class="actions">
                                <button type="button" class="key" id="reading-sure" on:click=move |_| keep(true)>
                                    {format!("Keep {typed} all the same")}
                                </button>
                            </div>
                        </div>
                    })}
                    <Show when=move || changing.get().is_none()>
                        <div class="job-row">
                            {select("reading-from", "From", true)}
                            {select("reading-to", "To", false)}
                        </div>
                        <Choices
                            legend="Taken with"
                            shown=true
                            choices=vec![
                                Choice::words("over", "soft tape, laid over the surface"),
                                Choice::words("straight", "tape held straight"),
                                Choice::words("drawing", "the drawing says so"),
                                Choice::words("rod", "rod: goes and doesn’t"),
                                Choice::words("level", "level: says where up is"),
                                Choice::words("plumb", "plumb line: says where up is"),
                            ]
                            taken=with
                            take=move |v: String| with.set(v)
                        />
                    </Show>
                    <div class="job-row">
                        <button type="button" id="reading-keep" class="key main" hidden=move || ends.get().is_none() && changing.get().is_none() on:click=move |_| keep(false)
                            aria-disabled=move || if ready() { "false" } else { "true" }>
                            {move || if ready() { "Keep it" } else { "Type what the tape says" }}
                        </button>
                        <Show when=move || changing.get().is_some()>
                            <button type="button" class="key" on:click=move |_| {
                                if let Some(reading) = changing.get_untracked() {
                                    hand.say(&[Payload::Withdraw(Withdrawal { target: reading.fact })]);
                                    changing.set(None);
                                    typing.set("");
                                    // Its own key goes with it.
                                    fields::focus("reading-value".into());
                                }
                            }>"Take this reading out"</button>
                            <button type="button" class="key" id="reading-leave" on:click=move |_| leave()>"Leave it as it is"</button>
                        </Show>
                    </div>
                </div>
            </Show>
            <Table hand=hand change=move |reading: ReadingView| {
                let field = if reading.of.stood().is_some() { beside } else { typing };
                field.set(&reading.typed);
                changing.set(Some(reading));
                fields::focus_whole("#reading-value, #reading-beside");
            } changing=changing />
        </section>
    }
}

/// A point that readings leave on either side of the line: the one question, before anything else.
#[component]
fn EitherSides(hand: Hand) -> impl IntoView {
    move || {
        let view = hand.view()?;
        let (point, title, _) = to_do::points(&view)
            .into_iter()
            .find(|(_, _, s)| matches!(s, Stands::EitherSide { .. }))?;
        let say = move |side: LineSide| {
            let point = point.clone();
            move |_| hand.say(&model::side(&point, side))
        };
        Some(view! {
            <div class="setout-either" role="group" aria-label="On which side">
                <p>{format!("{} fits on either side of the line A–B. Seen from outside, it lies", crate::say::job::capital(&title))}</p>
                <div class="job-row">
                    <button type="button" class="key main" on:click=say(LineSide::Above)>"above the line"</button>
                    <button type="button" class="key main" on:click=say(LineSide::Below)>"below the line"</button>
                </div>
            </div>
        })
    }
}

#[component]
fn Table(
    hand: Hand,
    #[prop(into)] change: Callback<ReadingView>,
    changing: RwSignal<Option<ReadingView>>,
) -> impl IntoView {
    let rows = Memo::new(move |_| hand.view().map(|v| v.readings.clone()).unwrap_or_default());
    let here = move |fact: FactId| changing.with(|c| c.as_ref().is_some_and(|c| c.fact == fact));
    view! {
        <Show when=move || rows.with(|r| !r.is_empty())>
            <table class="setout-table">
                <thead>
                    <tr><th scope="col">"What"</th><th scope="col">"mm"</th><th scope="col">"off by"</th><th scope="col"></th></tr>
                </thead>
                <tbody>
                    {move || rows.get().into_iter().map(|r| {
                        let fact = r.fact;
                        let again = r.clone();
                        let plain = r.typed.trim() == tenth(r.value) || r.typed.trim().parse::<f64>().is_ok();
                        let typed = (!plain).then(|| r.typed.clone());
                        view! {
                            <tr class:odd=r.doubt.is_some() class:here=move || here(fact)>
                                <th scope="row">
                                    {r.words.clone()}
                                    {r.doubt.clone().map(|d| view! { <p class="why">{d}</p> })}
                                </th>
                                <td class="figure">{tenth(r.value)}{typed.map(|t| view! { <span class="second">{t}</span> })}</td>
                                <td class="figure">{r.off_by.map(tenth)}</td>
                                <td>
                                    <button type="button" class="key" id=change_key(fact) aria-label=format!("Change {}", r.words)
                                        on:click=move |_| { let _ = change.try_run(again.clone()); }>"Change"</button>
                                </td>
                            </tr>
                        }
                    }).collect_view()}
                </tbody>
            </table>
        </Show>
    }
}
