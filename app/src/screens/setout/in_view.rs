//! A feature's place as the client's drawing gives it: from one mark, in a view.

use super::hand::Hand;
use crate::widgets::choice::{Choice, Choices};
use crate::widgets::typing::{TypedLength, Typing};
use leptos::prelude::*;
use samespot_core::job::{Entry, FaceShape, FeatureId, MarkId, PointRef, SeenFrom};
use samespot_core::prepare::setout::ViewPlace;

/// From where a drawing looks, by what is chosen.
fn looks(chosen: &str, mark: MarkId) -> SeenFrom {
    match chosen {
        "front" => SeenFrom::Level { mark },
        _ => SeenFrom::Mark { mark },
    }
}

/// Closed until somebody has such a drawing.
#[component]
pub(super) fn InViewForm(hand: Hand, feature: FeatureId) -> impl IntoView {
    let id = StoredValue::new(feature);
    let shape = Memo::new(move |_| {
        hand.of_job(|j| {
            let face = id.with_value(|id| j.features.get(id)?.face.clone())?;
            j.faces.get(&face)?.shape.clone()
        })
        .flatten()
    });
    let marks = Memo::new(move |_| {
        let face = hand
            .of_job(|j| id.with_value(|id| j.features.get(id)?.face.clone()))
            .flatten()?;
        hand.of_job(|j| super::model::marks(j, &face))
    });
    let way = RwSignal::new("mark".to_owned());
    let anchor = RwSignal::new(None::<MarkId>);
    let from = move || {
        anchor
            .get()
            .or_else(|| marks.get()?.into_iter().next().map(|m| m.0))
    };
    let right = Typing::either_side(None, "to its left", "to its right");
    let up = Typing::either_side(None, "below it", "above it");
    let missing = move || {
        let typed = |t: &Typing| t.entry().is_some();
        (!typed(&right) || !typed(&up)).then_some("Type how far to the side and how far up")
    };
    let place = move |_| {
        let (Some(mark), Some(right), Some(up)) =
            (untrack(from), right.entry_now(), up.entry_now())
        else {
            return;
        };
        let of = |e: Entry| e.mm;
        hand.place_in_view(
            PointRef::Feature(id.get_value()),
            ViewPlace {
                from: looks(&way.get_untracked(), mark),
                right: of(right),
                up: of(up),
            },
        );
    };
    let pick = move |ev: leptos::ev::Event| {
        anchor.set(MarkId::new(&event_target_value(&ev)).ok());
    };
    move || {
        // On a flat face a drawing is the face itself: its distances are read as they stand.
        if matches!(shape.get(), None | Some(FaceShape::Flat)) {
            return None;
        }
        Some(view! {
            <details class="job-more in-view">
                <summary>"Its place is given on a drawing, as a view"</summary>
                <Choices
                    legend="The drawing looks"
                    shown=true
                    choices=vec![
                        Choice::words("mark", "straight on at the mark"),
                        Choice::words("front", "on the level, from in front of the mark"),
                    ]
                    taken=Signal::derive(move || way.get())
                    take=move |v: String| way.set(v)
                />
                <label class="job-field short">
                    <span>"Measured from mark"</span>
                    <select id="in-view-from" on:change=pick
                        prop:value=move || from().map(|m| m.to_string()).unwrap_or_default()>
                        {move || marks.get().unwrap_or_default().into_iter().map(|(mark, letter)| {
                            let is = from().as_ref() == Some(&mark);
                            view! { <option value=mark.to_string() selected=is>{letter}</option> }
                        }).collect_view()}
                    </select>
                </label>
                <TypedLength id="in-view-right" label="Its middle is so far to the side" typing=right done=move |_| {} />
                <TypedLength id="in-view-up" label="and so far up" typing=up done=move |_| {} />
                <button type="button" id="in-view-place" class="key"
                    prop:disabled=move || missing().is_some() on:click=place>
                    "Carry it onto the face"
                </button>
                <p class="second">{move || missing().unwrap_or(
                    "It is kept as distances over the surface, from the drawing; a tape's readings may take their place",
                )}</p>
            </details>
        })
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    #[test]
    fn a_drawing_looks_at_the_mark_it_measures_from() {
        let mark = MarkId::new("m1").unwrap();
        for chosen in ["mark", "front"] {
            assert_eq!(looks(chosen, mark.clone()).mark(), Some(&mark));
        }
        assert!(matches!(looks("front", mark), SeenFrom::Level { .. }));
    }
}
