//! What a feature's template is made of, and which way it runs over the face.

use super::hand::Hand;
use crate::say::job::capital;
use crate::say::laid;
use crate::widgets::choice::{Choice, Choices};
use crate::widgets::typing::{TypedLength, Typing};
use leptos::prelude::*;
use samespot_core::job::{
    EntityRef, Entry, FaceShape, FeatureEdit, FeatureId, MarkId, Runs, SeenFrom,
};
use samespot_core::template::{LAID, Laid};
use samespot_core::units::Length;

/// Paper, film, card, board, or how thick it is.
#[component]
pub(super) fn LaidForm(hand: Hand, feature: FeatureId) -> impl IntoView {
    let id = StoredValue::new(feature);
    let said = Memo::new(move |_| {
        hand.of_job(|j| id.with_value(|id| j.features.get(id).and_then(|f| f.thickness)))
            .flatten()
            .unwrap_or(LAID[0].thickness)
    });
    let thick = Typing::new(Some(&Entry::of_mm(said.get_untracked().mm())));
    let keep = move |thickness: Length| {
        hand.say_if_new(
            EntityRef::Feature(id.get_value()),
            &FeatureEdit {
                thickness: Some(thickness),
                ..FeatureEdit::default()
            },
        );
    };
    let done = move |_: bool| {
        if let Some(entry) = thick.entry_now().filter(|e| e.mm > Length::ZERO) {
            keep(entry.mm);
        }
    };
    view! {
        <Choices
            legend="The template is"
            shown=true
            choices=laid::choices()
            taken=Signal::derive(move || Laid::named(said.get()).unwrap_or_default().to_owned())
            take=move |name: String| {
                if let Some(thickness) = laid::thickness(&name) {
                    thick.set(&crate::say::numbers::size(thickness));
                    keep(thickness);
                }
            }
        />
        <TypedLength id="feature-thick" label="or so thick" typing=thick done=done />
    }
}

/// How its outline is given: over the face, straight or along a level line, or as it is seen.
///
/// What is asked is a choice and, for some, a mark; each choice is one value here, so that changing
/// one's mind leaves nothing behind.
fn way(runs: Option<Runs>, seen: Option<&SeenFrom>) -> &'static str {
    match (seen, runs) {
        (Some(SeenFrom::Middle), _) => "middle",
        (Some(SeenFrom::Mark { .. }), _) => "mark",
        (Some(SeenFrom::Level { .. }), _) => "front",
        (Some(SeenFrom::Surface) | None, Some(Runs::Level)) => "level",
        (Some(SeenFrom::Surface) | None, _) => "straight",
    }
}

/// What a choice says, seen from a mark where it needs one; nothing where there is no mark.
fn taken_way(way: &str, mark: Option<&MarkId>) -> Option<(Runs, SeenFrom)> {
    let straight = Runs::Straight;
    Some(match way {
        "level" => (Runs::Level, SeenFrom::Surface),
        "middle" => (straight, SeenFrom::Middle),
        "mark" => (
            straight,
            SeenFrom::Mark {
                mark: mark?.clone(),
            },
        ),
        "front" => (
            straight,
            SeenFrom::Level {
                mark: mark?.clone(),
            },
        ),
        _ => (straight, SeenFrom::Surface),
    })
}

/// Straight over the face, along its level line, or as a drawing shows it: where those differ.
#[component]
pub(super) fn RunsForm(hand: Hand, feature: FeatureId) -> impl IntoView {
    let id = StoredValue::new(feature);
    let edit = Memo::new(move |_| {
        hand.of_job(|j| id.with_value(|id| j.features.get(id).cloned()))
            .flatten()
            .unwrap_or_default()
    });
    let shape = Memo::new(move |_| {
        hand.of_job(|j| {
            let face = edit.with(|e| e.face.clone())?;
            j.faces.get(&face)?.shape.clone()
        })
        .flatten()
    });
    let marks = Memo::new(move |_| {
        let face = edit.with(|e| e.face.clone())?;
        hand.of_job(|j| super::model::marks(j, &face))
    });
    let said = Signal::derive(move || edit.with(|e| way(e.runs, e.seen.as_ref())).to_owned());
    let in_front = move || {
        edit.with(|e| e.seen.as_ref().and_then(SeenFrom::mark).cloned())
            .or_else(|| marks.get()?.into_iter().next().map(|m| m.0))
    };
    let keep = move |way: &str, mark: Option<MarkId>| {
        let Some((runs, seen)) = taken_way(way, mark.as_ref()) else {
            let why = "Add a mark first: one stands in front of it";
            hand.session.notice(why, true);
            return;
        };
        hand.say_if_new(
            EntityRef::Feature(id.get_value()),
            &FeatureEdit {
                runs: Some(runs),
                seen: Some(seen),
                ..FeatureEdit::default()
            },
        );
    };
    let pick = move |ev: leptos::ev::Event| {
        if let Ok(mark) = MarkId::new(&event_target_value(&ev)) {
            keep(&said.get_untracked(), Some(mark));
        }
    };
    // What is said of it on the face: from where it is seen, or what turns too far away.
    let lies = move || {
        let view = hand.view()?;
        let feature = view
            .features
            .iter()
            .find(|f| id.with_value(|id| f.feature == *id))?;
        Some(capital(&feature.size))
    };
    let seen = move || matches!(said.get().as_str(), "middle" | "mark" | "front");
    let choices = move || {
        let bends = !matches!(
            shape.get()?,
            FaceShape::Cylinder { .. } | FaceShape::Dome { .. }
        );
        let mut choices = vec![Choice::words("straight", "over the surface, straight")];
        choices.extend(
            bends.then(|| Choice::words("level", "over the surface, along the level line")),
        );
        choices.extend([
            Choice::words("middle", "as seen straight on"),
            Choice::words("mark", "as seen straight on at a mark"),
            Choice::words("front", "as seen on the level, in front of a mark"),
        ]);
        Some(choices)
    };
    move || {
        if matches!(shape.get(), None | Some(FaceShape::Flat)) {
            return None;
        }
        Some(view! {
            <Choices
                legend="Its outline is drawn"
                shown=true
                choices=choices()?
                taken=said
                take=move |v: String| keep(&v, in_front())
            />
            <Show when=move || matches!(said.get().as_str(), "mark" | "front")>
                <label class="job-field short">
                    <span>"In front of mark"</span>
                    <select id="feature-seen" on:change=pick
                        prop:value=move || in_front().map(|m| m.to_string()).unwrap_or_default()>
                        {move || marks.get().unwrap_or_default().into_iter().map(|(id, letter)| {
                            let is = in_front().as_ref() == Some(&id);
                            view! { <option value=id.to_string() selected=is>{letter}</option> }
                        }).collect_view()}
                    </select>
                </label>
            </Show>
            <Show when=seen>
                <p role="status">{lies}</p>
                <p class="second">"What a drawing shows is carried onto the face along the line of sight, once, on the pattern; its middle stays where the readings have it"</p>
            </Show>
        })
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    #[test]
    fn what_is_chosen_is_what_is_shown_as_chosen() {
        let mark = MarkId::new("m1").unwrap();
        for chosen in ["straight", "level", "middle", "mark", "front"] {
            let (runs, seen) = taken_way(chosen, Some(&mark)).unwrap();
            assert_eq!(way(Some(runs), Some(&seen)), chosen);
        }
        assert_eq!(taken_way("front", None), None);
        assert_eq!(way(None, None), "straight");
    }
}
