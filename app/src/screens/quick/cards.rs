//! The four cards.

use super::card::{Card, Next, focus_first};
use super::drawings;
use super::file::FileFields;
use super::hand::Hand;
use super::how_big::{HowBig, TheOtherWay};
use super::model::{self, Way};
use crate::ports::fields;
use crate::say::numbers::{size, tenth};
use crate::screens::press::{Looked, Press};
use crate::widgets::choice::{Choice, Choices};
use crate::widgets::length::LengthField;
use leptos::prelude::*;
use samespot_core::job::{Curve, Entry, FaceShape, LineSide, OutlineSpec, QuickCards, Size};

/// One length on a card.
#[component]
pub(super) fn Length(
    hand: Hand,
    id: &'static str,
    #[prop(into)] key: Signal<String>,
    #[prop(into)] label: Signal<String>,
) -> impl IntoView {
    let answers = hand.answers;
    view! {
        <LengthField
            id=id
            label=label
            text=Signal::derive(move || answers.with(|a| model::text(a, &key.get()).to_owned()))
            picked=Signal::derive(move || answers.with(|a| model::picked(a, &key.get())))
            options=Signal::derive(move || answers.with(|a| model::options(a, &key.get())))
            on_text=move |text: String| hand.write(&key.get_untracked(), text)
            on_pick=move |n: usize| hand.pick(&key.get_untracked(), n)
            on_done=move |by_key: bool| {
                hand.commit();
                if by_key {
                    onwards(hand, id);
                }
            }
        />
    }
}

/// After Enter: the next empty field of this card, or the next card.
pub(super) fn onwards(hand: Hand, id: &str) {
    if fields::focus_next_empty(".card.open .box input", id) {
        return;
    }
    let open = hand.open.get_untracked();
    let filled = hand
        .cards
        .with_untracked(|c| model::filled(c, hand.piece.get_untracked()));
    if filled.get(open) == Some(&true) && open < 3 {
        hand.next();
    }
}

fn shape_says(cards: &QuickCards) -> String {
    cards.outline.as_ref().map_or_else(
        || "circle, oval, box, words or a file".into(),
        OutlineSpec::in_words,
    )
}

/// The first card.
#[component]
pub(super) fn Shape(hand: Hand) -> impl IntoView {
    let shape = Memo::new(move |_| hand.answers.with(|a| model::text(a, "shape").to_owned()));
    view! {
        <Card
            hand=hand
            at=0
            title="The shape"
            says=Signal::derive(move || hand.cards.with(shape_says))
        >
            <Choices
                legend="The shape"
                choices=vec![
                    Choice::drawn("circle", "Circle", drawings::circle),
                    Choice::drawn("oval", "Oval", drawings::oval),
                    Choice::drawn("box", "Rounded box", drawings::rounded_box),
                    Choice::drawn("words", "Lettering", drawings::words),
                    Choice::drawn("file", "Tracing or file", drawings::file),
                ]
                taken=shape
                take=move |value: String| {
                    hand.choose("shape", &value);
                    focus_first();
                }
            />
            {move || match shape.get().as_str() {
                "circle" => {
                    view! { <Length hand=hand id="across" key="across" label="Across" /> }.into_any()
                }
                "oval" => {
                    view! {
                        <div class="fields">
                            <Length hand=hand id="across" key="across" label="Across" />
                            <Length hand=hand id="up" key="up" label="Up" />
                        </div>
                    }
                        .into_any()
                }
                "box" => {
                    view! {
                        <div class="fields">
                            <Length hand=hand id="across" key="across" label="Across" />
                            <Length hand=hand id="up" key="up" label="Up" />
                            <Length hand=hand id="corner" key="corner" label="Corner radius (a tenth unless you say)" />
                        </div>
                    }
                        .into_any()
                }
                "words" => view! { <Lettering hand=hand /> }.into_any(),
                "file" => view! { <FileFields hand=hand /> }.into_any(),
                _ => view! { <p class="second">"Tap what it looks like. Any unit will do: 62, 6.2cm, 2 7/16 in"</p> }.into_any(),
            }}
            <Next hand=hand at=0 missing="Choose a shape and type its size" words="Next: what it lies on" />
        </Card>
    }
}

#[component]
fn Lettering(hand: Hand) -> impl IntoView {
    view! {
        <div class="fields">
            <div class="length">
                <label for="words">"What it says"</label>
                <div class="box">
                    <input
                        id="words"
                        type="text"
                        maxlength="200"
                        autocomplete="off"
                        prop:value=move || hand.answers.with(|a| model::text(a, "words").to_owned())
                        on:input=move |e| hand.write("words", event_target_value(&e))
                        on:blur=move |_| hand.commit()
                        on:keydown=move |e| {
                            if e.key() == "Enter" {
                                onwards(hand, "words");
                            }
                        }
                    />
                </div>
            </div>
            <Length hand=hand id="capitals" key="capitals" label="Height of the capitals" />
        </div>
    }
}

fn lies_says(cards: &QuickCards) -> String {
    let by = |s: &Size| match s {
        Size::Radius { radius } => format!("radius {} mm", size(radius.mm)),
        Size::Girth { girth } => format!("{} mm all the way round", size(girth.mm)),
        Size::StraightEdge { length, gap, .. } => {
            format!("gap {} mm under {} mm", size(gap.mm), size(length.mm))
        }
        Size::GaugeCard { number } => format!("gauge card {number}"),
    };
    match &cards.lies_on {
        None | Some(FaceShape::Cone { .. } | FaceShape::Scan { .. }) => {
            "flat, round one way, round both ways".into()
        }
        Some(FaceShape::Flat) => "flat".into(),
        Some(FaceShape::Cylinder { size, hollow, .. }) => {
            format!(
                "{} one way, {}",
                if *hollow { "hollow" } else { "round" },
                by(size)
            )
        }
        Some(FaceShape::TwoRadii { across, up }) => {
            let one = |c: &Curve| match c {
                Curve::Flat => "flat".into(),
                Curve::Bulging { size } => format!("round, {}", by(size)),
                Curve::Hollow { size } => format!("hollow, {}", by(size)),
            };
            format!("across {}; up {}", one(across), one(up))
        }
        Some(FaceShape::Dome { size, hollow }) => {
            format!(
                "{} both ways, {}",
                if *hollow { "hollow" } else { "round" },
                by(size)
            )
        }
    }
}

/// The second card.
#[component]
pub(super) fn LiesOn(hand: Hand) -> impl IntoView {
    let text = move |key: &'static str| {
        Memo::new(move |_| hand.answers.with(|a| model::text(a, key).to_owned()))
    };
    let lies = text("lies");
    let or = |memo: Memo<String>, usual: &'static str| {
        Signal::derive(move || {
            Some(memo.get())
                .filter(|v| !v.is_empty())
                .unwrap_or_else(|| usual.into())
        })
    };
    let (axis, hollow) = (or(text("axis"), "up"), or(text("hollow"), "bulging"));
    view! {
        <Card
            hand=hand
            at=1
            title="What it lies on"
            says=Signal::derive(move || hand.cards.with(lies_says))
        >
            <Choices
                legend="What it lies on"
                choices=vec![
                    Choice::drawn("flat", "Flat", drawings::flat),
                    Choice::drawn("round", "Round one way", drawings::round),
                    Choice::drawn("dome", "Round both ways", drawings::dome),
                ]
                taken=lies
                take=move |value: String| {
                    hand.choose("lies", &value);
                    if value == "flat" {
                        hand.next();
                    } else {
                        focus_first();
                    }
                }
            />
            {move || {
                let lies = lies.get();
                (lies == "round" || lies == "dome")
                    .then(|| {
                        view! {
                            {(lies == "round")
                                .then(|| {
                                    view! {
                                        <Choices
                                            legend="It stands"
                                            shown=true
                                            choices=vec![
                                                Choice::words("up", "upright, like a post"),
                                                Choice::words("across", "lying, like a pipe"),
                                            ]
                                            taken=axis
                                            take=move |v: String| hand.choose("axis", &v)
                                        />
                                    }
                                })}
                            <HowBig hand=hand way=Way::Across />
                            <Choices
                                legend="Seen from outside it is"
                                shown=true
                                choices=vec![
                                    Choice::words("bulging", "bulging"),
                                    Choice::words("hollow", "hollow"),
                                ]
                                taken=hollow
                                take=move |v: String| hand.choose("hollow", &v)
                            />
                            {(lies == "dome").then(|| view! { <TheOtherWay hand=hand /> })}
                        }
                    })
            }}
            <Next hand=hand at=1 missing="Choose what it lies on, and say how big that is" words="Next: two marks" />
        </Card>
    }
}

fn marks_says(cards: &QuickCards) -> String {
    let mm = |e: &Option<Entry>| e.as_ref().map(|e| size(e.mm));
    match (
        mm(&cards.a_to_b),
        mm(&cards.a_to_centre),
        mm(&cards.b_to_centre),
    ) {
        (Some(ab), Some(ac), Some(bc)) => {
            let side = match cards.side {
                Some(LineSide::Above) => ", above the line",
                Some(LineSide::Below) => ", below the line",
                None => ", which side?",
            };
            format!("A–B {ab}, A–centre {ac}, B–centre {bc}{side}")
        }
        _ => "on the pattern or the first good piece".into(),
    }
}

/// The third card.
#[component]
pub(super) fn Marks(hand: Hand) -> impl IntoView {
    let side = Memo::new(move |_| hand.answers.with(|a| model::text(a, "side").to_owned()));
    let cannot_meet = move || hand.cards.with(model::cannot_meet);
    view! {
        <Card
            hand=hand
            at=2
            title="Two marks on the good one"
            says=Signal::derive(move || hand.cards.with(marks_says))
        >
            <p class="second">
                "On the pattern or the first good piece, choose two marks that you can find on all of them. Call the left one A and the right one B, seen from outside. Tape laid over the surface"
            </p>
            <div class="fields three">
                <Length hand=hand id="ab" key="ab" label="A to B" />
                <Length hand=hand id="ac" key="ac" label="A to the centre" />
                <Length hand=hand id="bc" key="bc" label="B to the centre" />
            </div>
            <Choices
                legend="The centre is"
                shown=true
                choices=vec![
                    Choice::drawn("above", "above A–B", drawings::above),
                    Choice::drawn("below", "below A–B", drawings::below),
                ]
                taken=side
                take=move |v: String| {
                    hand.choose("side", &v);
                    let done = hand.cards.with_untracked(|c| model::filled(c, 1)[2]);
                    if done {
                        hand.next();
                    }
                }
            />
            <p class="caution cannot-meet" role="status" hidden=move || cannot_meet().is_none()>{cannot_meet}</p>
            <Next
                hand=hand
                at=2
                missing="Three lengths that can meet, and the side"
                words="Next: this piece"
            />
        </Card>
    }
}

fn piece_says(cards: &QuickCards, piece: u32) -> String {
    let here = cards
        .pieces
        .iter()
        .find(|p| p.number == piece)
        .and_then(|p| p.a_to_b.as_ref());
    here.map_or_else(
        || "one number, then print".into(),
        |e| format!("piece {piece}: A–B {}", size(e.mm)),
    )
}

/// The fourth card: one number, and print.
#[component]
pub(super) fn ThisPiece(hand: Hand, press: Press) -> impl IntoView {
    let key = Signal::derive(move || format!("piece-{}", hand.piece.get()));
    let label = Signal::derive(move || format!("A to B on piece {}", hand.piece.get()));
    let several = move || hand.cards.with(|c| c.pieces.len() > 1);
    let pieces = move || {
        hand.cards
            .with(|c| c.pieces.iter().map(|p| p.number).collect::<Vec<_>>())
    };
    view! {
        <Card
            hand=hand
            at=3
            title="This piece"
            says=Signal::derive(move || {
                let piece = hand.piece.get();
                hand.cards.with(|c| piece_says(c, piece))
            })
        >
            <Show when=several>
                <div class="choices" role="group" aria-label="Which piece">
                    <div class="keys">
                        <For each=pieces key=|n| *n let(n)>
                            <button
                                type="button"
                                class="choice"
                                aria-pressed=move || if hand.piece.get() == n { "true" } else { "false" }
                                on:click=move |_| {
                                    hand.choose("piece", &n.to_string());
                                    focus_first();
                                }
                            >
                                {format!("Piece {n}")}
                            </button>
                        </For>
                    </div>
                </div>
            </Show>
            <Length hand=hand id="piece-ab" key=key label=label />
            <Outcome hand=hand press=press />
        </Card>
    }
}

/// Castings of one mould differ by far less than this share; more is a slip of the tape or the hand
/// (common practice, no source).
const FAR_SHARE: f64 = 0.05;

/// What comes of it: how sure it is, and the keys.
#[component]
fn Outcome(hand: Hand, press: Press) -> impl IntoView {
    let ready = move || press.pdf.with(Option::is_some);
    let missing = move || {
        let piece = hand.piece.get();
        let filled = hand.cards.with(|c| model::filled(c, piece));
        let names = [
            "the shape",
            "what it lies on",
            "the two marks",
            "A to B on this piece",
        ];
        let missing: Vec<&str> = names
            .iter()
            .zip(filled)
            .filter(|(_, f)| !f)
            .map(|(n, _)| *n)
            .collect();
        missing.join(", ")
    };
    // Typed in full and not kept yet: the tap keeps it and prints.
    let typed = move || {
        let (piece, kept) = (hand.piece.get(), hand.kept.get());
        missing().is_empty() && !kept.is_some_and(|k| k.ready(piece))
    };
    let under = move || match (press.looked.get(), ready()) {
        (Looked::View(v), true) => format!("{}, size not proved: measure both bars", v.paper),
        (Looked::View(_), false) | (Looked::Making, _) => "making the sheet…".to_owned(),
        (Looked::Cannot(why), _) => why,
        (Looked::Nothing, _) => match missing() {
            none if none.is_empty() && typed() => "keeps these numbers, then prints".to_owned(),
            none if none.is_empty() => "making the sheet…".to_owned(),
            missing => format!("still missing: {missing}"),
        },
    };
    let printed = move || {
        let piece = hand.piece.get();
        hand.session.book.with(|b| {
            b.as_ref().is_some_and(|b| {
                b.job.printed.iter().any(|k| {
                    k.says
                        .pieces
                        .iter()
                        .any(|p| p.as_str() == piece.to_string())
                })
            })
        })
    };
    let far = move || {
        let piece = hand.piece.get();
        hand.cards.with(|c| {
            let good = c.a_to_b.as_ref()?.mm;
            let mut here = c.pieces.iter().filter(|p| p.number == piece);
            let here = here.next()?.a_to_b.as_ref()?.mm;
            let off = (here.mm() - good.mm()).abs() > FAR_SHARE * good.mm();
            off.then(|| {
                let (good, here) = (size(good), size(here));
                format!("A–B was {good} mm on the good one and is {here} mm here: read it again before you print")
            })
        })
    };
    let off = move || if ready() || typed() { "false" } else { "true" };
    view! {
        <p class="caution">
            "Nothing checks these readings; one more, to a third mark, would show a slip"
        </p>
        <p role="status" class="caution" hidden=move || far().is_none()>{far}</p>
        {move || match press.looked.get() {
            Looked::View(v) if !v.fits => {
                let (worst, allowed) = (tenth(v.worst), tenth(v.allowed));
                Some(view! {
                    <p class="caution too-much" role="status">
                        <strong>{format!("{worst} mm off at worst is more than the {allowed} mm allowed. ")}</strong>
                        {v.tighter.clone()}
                    </p>
                }.into_any())
            }
            Looked::View(v) => {
                Some(view! { <p class="instead">{crate::say::job::capital(&v.instead_of_nominal)}</p> }.into_any())
            }
            _ => None,
        }}
        <div class="actions print">
            <button
                type="button"
                class="key big"
                class:main=move || (ready() || typed()) && !printed()
                aria-disabled=off
                on:click=move |_| {
                    hand.commit();
                    press.print();
                }
            >
                <strong>{move || format!("Print piece {}", hand.piece.get())}</strong>
                <span>{under}</span>
            </button>
            <button type="button" class="key" aria-disabled=off on:click=move |_| {
                hand.commit();
                press.download();
            }>
                "Download PDF"
            </button>
            <button
                type="button"
                class="key"
                class:main=printed
                on:click=move |_| {
                    hand.next_piece();
                    focus_first();
                }
            >
                {move || {
                    let last = hand.cards.with(|c| c.pieces.last().map_or(1, |p| p.number));
                    format!("Piece {}: one number", last.saturating_add(1))
                }}
            </button>
        </div>
    }
}
