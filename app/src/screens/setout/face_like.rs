//! What a face is like: by picture, then its sizes one way and the other.

use super::hand::{Hand, Looked};
use super::scan::ScanForm;
use super::scan_model;
use super::size_one_way::{ACROSS, OneWay, OneWayForm, UP};
use crate::ports::fields;
use crate::screens::quick::drawings;
use crate::widgets::choice::{Choice, Choices};
use crate::widgets::how_round;
use crate::widgets::typing::{TypedLength, Typing};
use leptos::prelude::*;
use samespot_core::job::{AxisChoice, Curve, EntityRef, Entry, FaceEdit, FaceId, FaceShape, Size};

/// What is chosen and typed. A handle; copies are the same.
#[derive(Clone, Copy)]
struct Like {
    lies: RwSignal<String>,
    axis: RwSignal<String>,
    hollow: RwSignal<String>,
    /// How a face round both ways runs upwards: `alike`, `bulging`, `hollow`, `flat`.
    other: RwSignal<String>,
    across: OneWay,
    up: OneWay,
    cone: [Typing; 3],
}

fn girth(size: &Size) -> Option<Entry> {
    match size {
        Size::Girth { girth } => Some(girth.clone()),
        _ => None,
    }
}

fn curve_size(curve: &Curve) -> Option<&Size> {
    match curve {
        Curve::Flat => None,
        Curve::Bulging { size } | Curve::Hollow { size } => Some(size),
    }
}

const fn curve_word(curve: &Curve) -> &'static str {
    match curve {
        Curve::Flat => "flat",
        Curve::Bulging { .. } => "bulging",
        Curve::Hollow { .. } => "hollow",
    }
}

impl Like {
    fn new(shape: Option<&FaceShape>) -> Self {
        let (mut axis, mut hollow, mut other) = ("up", "bulging", "alike");
        let (mut across, mut up) = (None, None);
        let mut cone: [Option<Entry>; 3] = [None, None, None];
        let inside = |h: &bool| if *h { "hollow" } else { "bulging" };
        let lies = match shape {
            None => "",
            Some(FaceShape::Flat) => "flat",
            Some(FaceShape::Cylinder {
                axis: runs,
                hollow: h,
                size,
            }) => {
                if *runs == AxisChoice::Across {
                    axis = "across";
                }
                (hollow, across) = (inside(h), Some(size));
                "round"
            }
            Some(FaceShape::Dome { hollow: h, size }) => {
                (hollow, across) = (inside(h), Some(size));
                "dome"
            }
            Some(FaceShape::TwoRadii { across: a, up: u }) => {
                (hollow, other) = (curve_word(a), curve_word(u));
                (across, up) = (curve_size(a), curve_size(u));
                "dome"
            }
            Some(FaceShape::Cone {
                lower,
                upper,
                slant,
            }) => {
                cone = [girth(lower), girth(upper), Some(slant.clone())];
                "cone"
            }
            Some(FaceShape::Scan { .. }) => "scan",
        };
        let words = |t: &str| RwSignal::new(t.to_owned());
        Self {
            lies: words(lies),
            axis: words(axis),
            hollow: words(hollow),
            other: words(other),
            across: OneWay::new(across),
            up: OneWay::new(up),
            cone: cone.map(|e| Typing::of_length(e.as_ref())),
        }
    }

    /// The shape, as far as it is said.
    fn shape_now(self) -> Option<FaceShape> {
        let hollow = self.hollow.get_untracked() == "hollow";
        let curve = |runs: &str, size: Option<Size>| {
            Some(match runs {
                "flat" => Curve::Flat,
                "hollow" => Curve::Hollow { size: size? },
                _ => Curve::Bulging { size: size? },
            })
        };
        Some(match self.lies.get_untracked().as_str() {
            "flat" => FaceShape::Flat,
            "round" => FaceShape::Cylinder {
                axis: if self.axis.get_untracked() == "across" {
                    AxisChoice::Across
                } else {
                    AxisChoice::Up
                },
                hollow,
                size: self.across.size_now()?,
            },
            "dome" => match self.other.get_untracked().as_str() {
                "alike" => FaceShape::Dome {
                    hollow,
                    size: self.across.size_now()?,
                },
                other => FaceShape::TwoRadii {
                    across: curve(&self.hollow.get_untracked(), self.across.size_now())?,
                    up: curve(other, self.up.size_now())?,
                },
            },
            "cone" => {
                let [lower, upper, slant] = self.cone.map(Typing::entry_now);
                FaceShape::Cone {
                    lower: Size::Girth { girth: lower? },
                    upper: Size::Girth { girth: upper? },
                    slant: slant?,
                }
            }
            _ => return None,
        })
    }
}

/// The form in the page.
const FORM: &str = ".setout-like";

/// A shape by the name on its key.
const fn kind(shape: &FaceShape) -> &'static str {
    match shape {
        FaceShape::Flat => "flat",
        FaceShape::Cylinder { .. } => "round",
        FaceShape::Cone { .. } => "cone",
        FaceShape::Dome { .. } | FaceShape::TwoRadii { .. } => "dome",
        FaceShape::Scan { .. } => "scan",
    }
}

/// What the face in hand is like.
#[component]
pub(super) fn FaceShapeForm(hand: Hand, face: FaceId) -> impl IntoView {
    let shape = hand
        .with_job(|j| j.faces.get(&face).and_then(|f| f.shape.clone()))
        .flatten();
    let like = Like::new(shape.as_ref());
    let scanned = face.clone();
    let own = face.clone();
    let done = Callback::new(move |_: bool| {
        let Some(shape) = like.shape_now() else {
            return;
        };
        // Places picked on a scan mean nothing on another shape.
        let from_scan = hand.with_job(|j| {
            let was = j.faces.get(&face)?.shape.as_ref()?;
            if !matches!(was, FaceShape::Scan { .. }) {
                return None;
            }
            Some(scan_model::forgotten(j, &face, &hand.pattern()?))
        });
        hand.say(&from_scan.flatten().unwrap_or_default());
        hand.say_if_new(
            EntityRef::Face(face.clone()),
            &FaceEdit {
                shape: Some(shape),
                ..FaceEdit::default()
            },
        );
    });
    let take = move |signal: RwSignal<String>| {
        move |v: String| {
            signal.set(v);
            done.run(false);
        }
    };
    let [lower, upper, slant] = like.cone;
    // What is known of the face is of the shape the job has, until the one that was tapped has its size.
    let of_face = own.clone();
    Effect::new(move |_| {
        let said = hand
            .of_job(|j| {
                j.faces
                    .get(&of_face)
                    .and_then(|f| f.shape.as_ref().map(kind))
            })
            .flatten();
        let other = said.is_some_and(|said| like.lies.with(|l| l != said));
        hand.reshaping.set(other);
    });
    on_cleanup(move || {
        let _ = hand.reshaping.try_set(false);
    });
    let standing = StoredValue::new(None::<f64>);
    Effect::new(move |_| {
        let settled = hand
            .looked
            .with(|l| !matches!(l, Looked::Looking | Looked::Nothing));
        if let Some(top) = standing.get_value() {
            fields::stay_at(FORM, top);
            if settled {
                standing.set_value(None);
            }
        }
    });
    view! {
        <Choices
            legend="What it is like"
            shown=true
            choices=vec![
                Choice::drawn("flat", "Flat", drawings::flat),
                Choice::drawn("round", "Round one way", drawings::round),
                Choice::drawn("cone", "Tapered", drawings::tapered),
                Choice::drawn("dome", "Round both ways", drawings::dome),
                Choice::drawn("scan", "From a scan", drawings::scan),
            ]
            taken=like.lies
            take=move |v: String| {
                // What is drawn of the face comes and goes above the keys: they stay under the finger.
                standing.set_value(fields::top_of(FORM));
                like.lies.set(v);
                done.run(false);
                // How big it is comes next: without that the face has no shape yet.
                fields::focus_first_empty(".setout-like .box input");
            }
        />
        {move || match like.lies.get().as_str() {
            "cone" => view! {
                <div class="fields three">
                    <TypedLength id="face-lower" label="Girth low down" typing=lower done=done />
                    <TypedLength id="face-upper" label="Girth higher up" typing=upper done=done />
                    <TypedLength id="face-slant" label="Between them, up the surface" typing=slant done=done />
                </div>
            }
            .into_any(),
            "round" => view! {
                <Choices
                    legend="It stands"
                    shown=true
                    choices=vec![
                        Choice::words("up", "upright, like a post"),
                        Choice::words("across", "lying, like a pipe"),
                    ]
                    taken=like.axis
                    take=take(like.axis)
                />
                <OneWayForm hand=hand fields=like.across legend="How big it is, on the pattern" ids=&ACROSS done=done />
                <Hollow like=like done=done />
            }
            .into_any(),
            "dome" => view! {
                <OneWayForm hand=hand fields=like.across legend="How big it is, on the pattern" ids=&ACROSS done=done />
                <Hollow like=like done=done />
                <Choices
                    legend="Upwards, square to that, it is"
                    shown=true
                    choices=how_round::the_other_way()
                    taken=like.other
                    take=take(like.other)
                />
                {move || matches!(like.other.get().as_str(), "bulging" | "hollow").then(|| view! {
                    <p class="second">
                        "Hold one gauge on the level and one upright, square to it. Where both show the same, choose the same"
                    </p>
                    <OneWayForm hand=hand fields=like.up legend="How big it is upwards" ids=&UP done=done />
                })}
            }
            .into_any(),
            "scan" => view! { <ScanForm hand=hand face=scanned.clone() /> }.into_any(),
            _ => ().into_any(),
        }}
    }
}

/// Bulging or hollow.
#[component]
fn Hollow(like: Like, done: Callback<bool>) -> impl IntoView {
    view! {
        <Choices
            legend="Seen from outside it is"
            shown=true
            choices=vec![Choice::words("bulging", "bulging"), Choice::words("hollow", "hollow")]
            taken=like.hollow
            take=move |v: String| {
                like.hollow.set(v);
                done.run(false);
            }
        />
    }
}
