//! A picture somebody marked up: four places of it that are known, then what was drawn.

use crate::ports::{files, pointer, worker};
use crate::say;
use crate::widgets::choice::{Choice, Choices};
use crate::widgets::typing::{TypedLength, Typing};
use leptos::ev::PointerEvent;
use leptos::prelude::*;
use leptos::task::spawn_local;
use samespot_core::answer::DrawnFile;
#[cfg(feature = "whole")]
use samespot_core::prepare::setout::{FaceView, Stands};
use samespot_core::read::marked_picture::{FromPicture, KnownPlace, MarkedPicture, Tap};
use std::collections::BTreeMap;
use std::sync::Arc;

/// The picture's width in its own units.
const WIDE: f64 = 1000.0;
/// A pointer that went less far than this on the screen tapped; further, it moved the picture.
const TAP: f64 = 6.0;
/// How sure a tape is of a side of what was photographed (95 %; common practice, no source).
const SIDE_WITHIN_MM: f64 = 1.0;

/// A place whose whereabouts are known.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Place {
    name: String,
    at_mm: [f64; 2],
    within_mm: f64,
}

/// The marks that readings of the pattern hold, where the face's picture has them.
#[cfg(feature = "whole")]
pub(super) fn held_marks(view: &FaceView) -> Vec<Place> {
    view.marks
        .iter()
        .filter_map(|m| match &m.stands {
            Stands::Held { at_mm, within, .. } => Some(Place {
                name: format!("mark {}", m.letter),
                at_mm: *at_mm,
                within_mm: within.mm(),
            }),
            _ => None,
        })
        .collect()
}

/// A picture in hand.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Picture {
    /// What its file was called.
    pub(super) name: String,
    /// The file.
    pub(super) bytes: Arc<Vec<u8>>,
}

impl Picture {
    /// A drawing, which no camera took: JPEG and PNG begin otherwise.
    fn is_drawn(&self) -> bool {
        let text = self.bytes.strip_prefix(b"\xef\xbb\xbf");
        let first = text.unwrap_or(&self.bytes).trim_ascii_start().first();
        first == Some(&b'<')
    }
}

/// What was taken off a picture.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Taken {
    /// Its numbers.
    pub(super) from: FromPicture,
    /// The outline as it is attached; nothing for a single place.
    pub(super) stored: Vec<u8>,
    /// The places were marks of the face, so that its middle is one on the face.
    pub(super) by_marks: bool,
}

/// What an outline off a picture says of itself.
pub(super) fn outline_words(from: &FromPicture) -> String {
    if from.across <= 0.0 {
        return format!("One place, known to ± {:.1} mm", from.middle_within);
    }
    format!(
        "{:.1} mm across, {:.1} mm up, true to {:.1} mm",
        from.across, from.up, from.within
    )
}

fn proof_words(from: &FromPicture) -> String {
    match from.square_on {
        Some(2) => return "Held by two places alone, which nothing proves, and by the picture having been taken square on; 3° askew is allowed for. Check one length of it with a tape".to_owned(),
        Some(_) => return "Held by three places and by the picture having been taken square on; 3° askew is allowed for. A fourth place would show how it was taken".to_owned(),
        None => {}
    }
    match from.fifth {
        Some([off, expected]) => format!(
            "The fifth place is {off:.1} mm off, where {expected:.1} was to be expected: it proves the other four"
        ),
        None => "Nothing proves the four: a fifth place would".to_owned(),
    }
}

#[derive(Debug, Clone, PartialEq)]
enum Came {
    Nothing,
    Is(FromPicture, Vec<u8>),
    Refused(String),
}

/// The places that are asked for: marks, or the corners of a rectangle and a fifth.
fn corners(across: f64, up: f64, fifth: Option<[f64; 2]>) -> Vec<Place> {
    let corner = |name: &str, at_mm: [f64; 2]| Place {
        name: name.to_owned(),
        at_mm,
        within_mm: SIDE_WITHIN_MM,
    };
    let mut all = vec![
        corner("lower left", [0.0, 0.0]),
        corner("lower right", [across, 0.0]),
        corner("upper right", [across, up]),
        corner("upper left", [0.0, up]),
    ];
    all.extend(fifth.map(|at| corner("fifth place", at)));
    all
}

/// Taps four known places and what was drawn; says what that comes to.
#[component]
pub(super) fn MarkedUp(
    picture: Picture,
    /// Marks of the face, where there is one.
    #[prop(into)]
    marks: Signal<Vec<Place>>,
    /// The face is not flat: a fifth has to prove the four.
    #[prop(into)]
    round: Signal<bool>,
    /// What it says of what came.
    words: fn(&FromPicture) -> String,
    /// What the key says that takes it.
    take_label: &'static str,
    /// Takes what came.
    take: Callback<Taken>,
    /// The picture as a whole is wanted, and nothing that was drawn in it: takes what is known of it.
    #[prop(optional)]
    whole: Option<Callback<MarkedPicture>>,
) -> impl IntoView {
    let drawn = picture.is_drawn();
    let media = if drawn { "image/svg+xml" } else { "image/*" };
    let address = files::address(&picture.bytes, media).unwrap_or_default();
    // Two of these may be open on one screen, one of a feature and one of sheets.
    let ids = if whole.is_some() {
        [
            "sheets-across",
            "sheets-up",
            "sheets-fifth-right",
            "sheets-fifth-up",
            "sheets-larger",
            "sheets-smaller",
        ]
    } else {
        [
            "picture-across",
            "picture-up",
            "picture-fifth-right",
            "picture-fifth-up",
            "picture-larger",
            "picture-smaller",
        ]
    };
    let [
        id_across,
        id_up,
        id_right,
        id_fifth_up,
        id_larger,
        id_smaller,
    ] = ids;
    let shown = address.clone();
    on_cleanup(move || files::release(&address));
    let high = RwSignal::new(0.0_f64);
    let larger = RwSignal::new(1_u32);
    let enough = marks.with_untracked(Vec::len) >= if drawn { 2 } else { 4 };
    let by = RwSignal::new(if enough { "marks" } else { "sides" }.to_owned());
    let (across, up) = (Typing::of_length(None), Typing::of_length(None));
    let (fifth_right, fifth_up) = (Typing::new(None), Typing::new(None));
    let taps = RwSignal::new(BTreeMap::<usize, Tap>::new());
    let line = RwSignal::new(Vec::<Tap>::new());
    let active = RwSignal::new(Some(0_usize));
    let smooth = RwSignal::new(true);
    let came = RwSignal::new(Came::Nothing);
    let from = RwSignal::new(None::<[f64; 2]>);
    let by_marks = move || by.with(|b| b == "marks");
    let square_on = RwSignal::new(false);
    // So many places are enough to go on.
    let least = move || match (by_marks(), drawn) {
        (true, true) => 2 + usize::from(round.get()),
        (false, true) => 2,
        (marks, false) if marks && square_on.get() => 2,
        _ => 4,
    };
    let mm = |typing: Typing| typing.entry().map(|e| e.mm.mm());
    let places = Memo::new(move |_| {
        if by_marks() {
            return marks.get();
        }
        let fifth = mm(fifth_right).zip(mm(fifth_up)).map(|(x, y)| [x, y]);
        let sides = mm(across).zip(mm(up)).unwrap_or((0.0, 0.0));
        corners(sides.0, sides.1, fifth)
    });
    let marked = Memo::new(move |_| {
        let (taps, places) = (taps.get(), places.get());
        let known = taps
            .iter()
            .filter_map(|(k, tap)| {
                let place = places.get(*k)?;
                Some(KnownPlace {
                    name: place.name.clone(),
                    at_mm: place.at_mm,
                    within_mm: place.within_mm,
                    tap: *tap,
                })
            })
            .take(5)
            .collect();
        MarkedPicture {
            high: high.get() * WIDE,
            known,
            fifth_needed: by_marks() && round.get(),
            square_on: by_marks() && square_on.get(),
            line: line.get(),
            smooth: smooth.get(),
        }
    });
    let sized = move || by_marks() || mm(across).is_some() && mm(up).is_some();
    let number = StoredValue::new(0_u32);
    Effect::new(move |_| {
        let marked = marked.get();
        number.update_value(|n| *n += 1);
        let own = number.get_value();
        let asks = sized()
            && whole.is_none()
            && marked.known.len() >= least()
            && !matches!(marked.line.len(), 0 | 2);
        if !asks {
            came.set(Came::Nothing);
            return;
        }
        spawn_local(async move {
            let request = serde_json::json!({ "places": marked }).to_string();
            let answer = worker::on_demand(worker::Module::Artwork, &request, Some(&[])).await;
            let next = match answer {
                Err(why) => Came::Refused(why.of("picture reader", worker::TooLarge::PICTURE)),
                Ok((json, stored)) => match samespot_core::json::read::<DrawnFile>(&json) {
                    Ok(DrawnFile::Marked(from)) => Came::Is(from, stored),
                    Ok(DrawnFile::Refused { sentence }) => Came::Refused(sentence),
                    Ok(_) => Came::Nothing,
                    Err(e) => Came::Refused(format!("the answer was not understood: {e}")),
                },
            };
            // A late answer is to another question.
            if number.try_get_value() == Some(own) {
                let _ = came.try_set(next);
            }
        });
    });
    let at = move |ev: &PointerEvent| pointer::place(ev, WIDE, high.get_untracked() * WIDE);
    let tapped = move |ev: PointerEvent| {
        let (Some(place), Some(start), Some((wide, near))) =
            (at(&ev), from.get_untracked(), pointer::fineness(&ev))
        else {
            return;
        };
        from.set(None);
        let went = (place[0] - start[0]).hypot(place[1] - start[1]) * wide / WIDE;
        if went > TAP {
            return;
        }
        let tap = Tap {
            at: place,
            within: near / wide * WIDE,
        };
        match active.get_untracked() {
            None => line.update(|l| l.push(tap)),
            Some(slot) => {
                taps.update(|t| {
                    t.insert(slot, tap);
                });
                let have = taps.with_untracked(BTreeMap::len);
                let next = (0..places.with_untracked(Vec::len))
                    .find(|k| taps.with_untracked(|t| !t.contains_key(k)));
                // Of many marks four are enough, five where they have to be proved.
                let all = places.with_untracked(Vec::len);
                let enough = if drawn || square_on.get_untracked() {
                    all.min(4)
                } else {
                    4 + usize::from(round.get_untracked())
                };
                active.set(next.filter(|_| have < enough || !by_marks()));
            }
        }
    };
    let anew = move || {
        taps.set(BTreeMap::new());
        line.set(Vec::new());
        active.set(Some(0));
    };
    let asked = move || match active.get() {
        _ if !sized() => "Type both sides of the rectangle as they were measured".to_owned(),
        Some(slot) => {
            let what = if drawn { "drawing" } else { "picture" };
            let name =
                places.with(|p| p.get(slot).map(|p| format!("Tap {} in the {what}", p.name)));
            let name = name.unwrap_or_default();
            if drawn && marked.with(|m| m.known.len()) >= least() {
                format!("{name}, which proves the others, or go on without")
            } else {
                name
            }
        }
        None if whole.is_some() => "Every place that is needed is tapped".to_owned(),
        None => match line.with(Vec::len) {
            0 => "Tap the middle of the cross, or go round the outline from place to place"
                .to_owned(),
            1 => "One place. Go on round the outline, if it is one".to_owned(),
            n => format!("{n} places round the outline, which closes by itself"),
        },
    };
    let slots = move || {
        let all = places.get().into_iter().enumerate().map(|(k, place)| {
            let done = move || taps.with(|t| t.contains_key(&k));
            view! {
                <button type="button" class="key" data-place=k.to_string()
                    aria-pressed=move || if active.get() == Some(k) { "true" } else { "false" }
                    on:click=move |_| active.set(Some(k))>
                    {move || format!("{}{}", place.name, if done() { " ✓" } else { "" })}
                </button>
            }
        });
        view! {
            <div class="keys" role="group" aria-label="Places that are known">
                {all.collect_view()}
                <Show when=move || whole.is_none()>
                    <button type="button" class="key" data-place="drawn"
                        aria-pressed=move || if active.get().is_none() { "true" } else { "false" }
                        on:click=move |_| active.set(None)>"what was drawn"</button>
                </Show>
            </div>
        }
    };
    view! {
        <div class="marked-up">
            <Show when=move || !marks.with(Vec::is_empty)>
                <Choices
                    legend="Which places of it are known"
                    shown=true
                    choices=if drawn {
                        vec![
                            Choice::words("marks", "marks of the face"),
                            Choice::words("sides", "corners of a rectangle"),
                        ]
                    } else {
                        vec![
                            Choice::words("marks", "four marks of the face"),
                            Choice::words("sides", "four corners of a rectangle"),
                        ]
                    }
                    taken=Signal::derive(move || by.get())
                    take=move |v: String| {
                        by.set(v);
                        anew();
                    }
                />
            </Show>
            <Show when=move || !drawn && by_marks() && !round.get()>
                <Choices
                    legend="The picture was taken"
                    shown=true
                    choices=vec![
                        Choice::words("any", "any way: four marks"),
                        Choice::words("square", "square on: two or three do"),
                    ]
                    taken=Signal::derive(move || if square_on.get() { "square".to_owned() } else { "any".to_owned() })
                    take=move |v: String| square_on.set(v == "square")
                />
            </Show>
            <Show when=move || by_marks() && marks.with(Vec::len) < least()>
                <p class="why">
                    {if drawn {
                        "Too few marks of this face are held by readings: read more of them, or take a rectangle in the drawing"
                    } else {
                        "Fewer marks of this face than that are held by readings: read more of them, or take a rectangle. Four show how the camera was held; with fewer that has to be known"
                    }}
                </p>
            </Show>
            <Show when=move || by_marks() && round.get()>
                <p class="second">
                    {if drawn {
                        "This face is not flat: the drawing has to show it rolled out, as the sheet will lie. Three marks say whether it does"
                    } else {
                        "This face is not flat, and a picture shows only flat things true: take marks close round what was drawn, and a fifth, which says how far out they are"
                    }}
                </p>
            </Show>
            <Show when=move || !by_marks()>
                <div class="fields">
                    <TypedLength id=id_across label="The rectangle: across" typing=across />
                    <TypedLength id=id_up label="The rectangle: up" typing=up />
                    <TypedLength id=id_right label="A fifth place, if there is one: so far right of the lower left corner" typing=fifth_right />
                    <TypedLength id=id_fifth_up label="and so far up from it" typing=fifth_up />
                </div>
            </Show>
            {slots}
            <p class="echo" role="status">{asked}</p>
            <div class="keys">
                <button type="button" class="key" id=id_larger on:click=move |_| larger.update(|l| *l = (*l * 2).min(8))>"Larger"</button>
                <button type="button" class="key" id=id_smaller on:click=move |_| larger.update(|l| *l = (*l / 2).max(1))>"Smaller"</button>
                <Show when=move || whole.is_none()>
                    <button type="button" class="key" id="picture-back"
                        on:click=move |_| line.update(|l| {
                            l.pop();
                        })>"Take back the last place"</button>
                </Show>
            </div>
            <div class="marked-room">
                <div class="marked-sheet" style:width=move || format!("{}%", larger.get() * 100)>
                    <img src=shown alt="The picture"
                        on:load=move |ev| high.set(pointer::proportion(&ev).unwrap_or(0.0))
                        on:error=move |_| came.set(Came::Refused(if drawn {
                            "this browser can’t show the drawing: save it as plain SVG, or as a picture, and choose it again"
                        } else {
                            "this browser can’t show the picture: save it as JPEG and choose it again"
                        }.into())) />
                    <svg class="marked-over" viewBox=move || format!("0 0 {WIDE} {:.1}", high.get() * WIDE)
                        role="img" aria-label="Where the picture was tapped"
                        on:pointerdown=move |ev| from.set(at(&ev))
                        on:pointerup=tapped
                        on:pointercancel=move |_| from.set(None)>
                        {move || drawing(&taps.get(), &places.get(), &line.get(), 12.0 / f64::from(larger.get()))}
                    </svg>
                </div>
            </div>
            {match whole {
                Some(whole) => {
                    let enough = move || sized() && marked.with(|m| m.known.len()) >= least();
                    view! {
                        <Show when=enough>
                            <button type="button" class="key main" id="picture-sheets"
                                on:click=move |_| whole.run(marked.get_untracked())>
                                {take_label}
                            </button>
                        </Show>
                    }
                        .into_any()
                }
                None => {
                    view! {
                        <Choices
                            legend="The outline runs"
                            shown=true
                            choices=vec![Choice::words("smooth", "smoothly"), Choice::words("straight", "straight from place to place")]
                            taken=Signal::derive(move || if smooth.get() { "smooth".to_owned() } else { "straight".to_owned() })
                            take=move |v: String| smooth.set(v == "smooth")
                        />
                    }
                        .into_any()
                }
            }}
            {move || match came.get() {
                Came::Nothing => ().into_any(),
                Came::Refused(why) => {
                    view! { <p class="why" role="alert">{say::job::capital(&why)}</p> }.into_any()
                }
                Came::Is(from, stored) => {
                    let says = format!("{}. {}", words(&from), proof_words(&from));
                    view! {
                        <p class="echo marked-says" role="status">{says}</p>
                        <button type="button" class="key main" id="picture-take"
                            on:click=move |_| take.run(Taken { from: from.clone(), stored: stored.clone(), by_marks: by.with_untracked(|b| b == "marks") })>
                            {take_label}
                        </button>
                    }
                    .into_any()
                }
            }}
        </div>
    }
}

/// Crosses at what is known, the line through what was drawn.
fn drawing(taps: &BTreeMap<usize, Tap>, places: &[Place], line: &[Tap], arm: f64) -> AnyView {
    let cross = |[x, y]: [f64; 2]| {
        format!(
            "M{:.2} {y:.2}H{:.2}M{x:.2} {:.2}V{:.2}",
            x - arm,
            x + arm,
            y - arm,
            y + arm
        )
    };
    let known = taps.iter().filter_map(|(k, tap)| {
        let name = places.get(*k)?.name.clone();
        let [x, y] = tap.at;
        Some(view! {
            <path class="marked-line" d=cross(tap.at) />
            <text x=format!("{:.2}", x + arm) y=format!("{:.2}", y - arm) font-size=format!("{:.2}", arm * 2.0)>{name}</text>
        })
    });
    let mut way = String::new();
    for (k, tap) in line.iter().enumerate() {
        let step = if k == 0 { 'M' } else { 'L' };
        way.push_str(&format!("{step}{:.2} {:.2}", tap.at[0], tap.at[1]));
    }
    if line.len() > 2 {
        way.push('Z');
    }
    let dots: String = line.iter().map(|t| cross(t.at)).collect();
    view! {
        {known.collect_view()}
        <path class="marked-line" d=way />
        <path class="marked-line" d=dots />
    }
    .into_any()
}
