//! What a feature's template is made of, and which way it runs over the face.

use super::hand::Hand;
use super::mark_select::MarkSelect;
use crate::say::job::capital;
use crate::say::laid;
use crate::widgets::choice::{Choice, Choices};
use crate::widgets::typing::{TypedLength, Typing};
use leptos::prelude::*;
use samespot_core::job::{
    BetweenMarks, EntityRef, Entry, FaceShape, FeatureEdit, FeatureId, MarkId, Runs, SeenFrom,
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
    let thick = Typing::of_length(Some(&Entry::of_mm(said.get_untracked().mm())));
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
        (Some(SeenFrom::Eye { .. }), _) => "eye",
        (Some(SeenFrom::Hides { .. }), _) => "hides",
        (Some(SeenFrom::Surface) | None, Some(Runs::Level)) => "level",
        (Some(SeenFrom::Surface) | None, Some(Runs::Along)) => "along",
        (Some(SeenFrom::Surface) | None, _) => "straight",
    }
}

/// An eye where nobody said: two metres off, as high as the mark (common practice, no source).
const USUAL_EYE: [f64; 2] = [2000.0, 0.0];

/// What a choice says, seen from a mark where it needs one; nothing where there is no mark.
fn taken_way(way: &str, mark: Option<&MarkId>) -> Option<(Runs, SeenFrom)> {
    let straight = Runs::Straight;
    Some(match way {
        "level" => (Runs::Level, SeenFrom::Surface),
        "along" => (Runs::Along, SeenFrom::Surface),
        "eye" => (
            straight,
            SeenFrom::Eye {
                mark: mark?.clone(),
                away: Entry::of_mm(USUAL_EYE[0]),
                above: Entry::of_mm(USUAL_EYE[1]),
            },
        ),
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
    let of_part = Signal::derive(move || {
        let face = edit.with(|e| e.face.clone());
        let all = face.and_then(|face| hand.of_job(|j| super::model::marks_of_part(j, &face)));
        all.unwrap_or_default()
    });
    let said = Signal::derive(move || edit.with(|e| way(e.runs, e.seen.as_ref())).to_owned());
    let in_front = move || {
        edit.with(|e| e.seen.as_ref().and_then(SeenFrom::mark).cloned())
            .or_else(|| marks.get()?.into_iter().next().map(|m| m.0))
    };
    let hiding = Callback::new(move |pair: Option<[MarkId; 2]>| {
        let usual = || {
            let own = in_front();
            let all = of_part.get_untracked();
            let other = all.iter().find(|(m, _)| Some(m) != own.as_ref())?.0.clone();
            Some([own?, other])
        };
        let Some([nearer, hidden]) = pair.or_else(|| untrack(usual)) else {
            let why = "Add two marks first: one hides the other";
            hand.session.notice(why, true);
            return;
        };
        hand.say_if_new(
            EntityRef::Feature(id.get_value()),
            &FeatureEdit {
                runs: Some(Runs::Straight),
                seen: Some(SeenFrom::Hides { nearer, hidden }),
                ..FeatureEdit::default()
            },
        );
    });
    let line = move || {
        edit.with_untracked(|e| e.along.clone()).or_else(|| {
            let marks = marks.get_untracked()?;
            let mut marks = marks.into_iter().map(|m| m.0);
            let (from, to) = (marks.next()?, marks.next()?);
            Some(BetweenMarks { from, to })
        })
    };
    let keep = move |way: &str, mark: Option<MarkId>| {
        if way == "hides" {
            hiding.run(None);
            return;
        }
        let Some((runs, seen)) = taken_way(way, mark.as_ref()) else {
            let why = "Add a mark first: one stands in front of it";
            hand.session.notice(why, true);
            return;
        };
        // An eye that is there already stays where it is.
        let seen = match (seen, edit.with_untracked(|e| e.seen.clone())) {
            (SeenFrom::Eye { mark, .. }, Some(SeenFrom::Eye { away, above, .. })) => {
                SeenFrom::Eye { mark, away, above }
            }
            (seen, _) => seen,
        };
        let along = (runs == Runs::Along).then(line).flatten();
        if runs == Runs::Along && along.is_none() {
            let why = "Add two marks first: the line runs from one to the other";
            hand.session.notice(why, true);
            return;
        }
        hand.say_if_new(
            EntityRef::Feature(id.get_value()),
            &FeatureEdit {
                runs: Some(runs),
                along,
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
    let seen = move || {
        matches!(
            said.get().as_str(),
            "middle" | "mark" | "front" | "eye" | "hides"
        )
    };
    let hides = ("hides", "as seen when one mark hides another");
    let choices = move || {
        if shape.get()? == FaceShape::Flat {
            return Some(vec![
                Choice::words("straight", "over the surface, straight"),
                Choice::words(hides.0, hides.1),
            ]);
        }
        let bends = !matches!(
            shape.get()?,
            FaceShape::Cylinder { .. } | FaceShape::Dome { .. }
        );
        let mut choices = vec![Choice::words("straight", "over the surface, straight")];
        choices.extend(
            bends.then(|| Choice::words("level", "over the surface, along the level line")),
        );
        choices.push(Choice::words(
            "along",
            "over the surface, along the line between two marks",
        ));
        choices.extend([
            Choice::words("middle", "as seen straight on"),
            Choice::words("mark", "as seen straight on at a mark"),
            Choice::words("front", "as seen on the level, in front of a mark"),
            Choice::words("eye", "as seen from the approved viewpoint"),
            Choice::words(hides.0, hides.1),
        ]);
        Some(choices)
    };
    move || {
        // Straight on, a flat face shows everything as it is; only from aside it does not, and aside is
        // told by marks of other faces.
        let own = marks.with(|m| m.as_ref().map_or(0, Vec::len));
        if shape.get()? == FaceShape::Flat && of_part.with(Vec::len) == own {
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
            <Show when=move || said.get() == "along">
                <BetweenForm hand=hand id=id marks=marks />
                <p role="status">{lies}</p>
                <p class="second">"On the line where its middle lies on it, else beside it, all along at the distance of its middle"</p>
            </Show>
            <Show when=move || matches!(said.get().as_str(), "mark" | "front" | "eye")>
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
            <Show when=move || said.get() == "eye">
                <EyeForm hand=hand id=id />
            </Show>
            <Show when=move || said.get() == "hides">
                <HidesForm hand=hand id=id marks=of_part keep=hiding />
            </Show>
            <Show when=seen>
                <p role="status">{lies}</p>
                <p class="second">"What a drawing shows is carried onto the face along the line of sight, once, on the pattern; its middle stays where the readings have it"</p>
            </Show>
        })
    }
}

/// From which mark to which a line runs.
#[component]
fn BetweenForm(
    hand: Hand,
    id: StoredValue<FeatureId>,
    marks: Memo<Option<Vec<(MarkId, String)>>>,
) -> impl IntoView {
    let line = Memo::new(move |_| {
        hand.of_job(|j| id.with_value(|id| j.features.get(id).and_then(|f| f.along.clone())))
            .flatten()
    });
    let pick = move |ev: leptos::ev::Event, to: bool| {
        let (Ok(mark), Some(mut line)) =
            (MarkId::new(&event_target_value(&ev)), line.get_untracked())
        else {
            return;
        };
        // The one it was takes the other's place: a line has two ends.
        let BetweenMarks { from: a, to: b } = &mut line;
        let (this, other) = if to { (b, a) } else { (a, b) };
        if *other == mark {
            other.clone_from(this);
        }
        *this = mark;
        hand.say_if_new(
            EntityRef::Feature(id.get_value()),
            &FeatureEdit {
                along: Some(line),
                ..FeatureEdit::default()
            },
        );
    };
    let end = move |to: bool| {
        line.get()
            .map(|l| if to { l.to } else { l.from })
            .map(|m| m.to_string())
    };
    let choice = move |name: &'static str, says: &'static str, to: bool| {
        view! {
            <label class="job-field short">
                <span>{says}</span>
                <select id=name on:change=move |ev| pick(ev, to)
                    prop:value=move || end(to).unwrap_or_default()>
                    {move || marks.get().unwrap_or_default().into_iter().map(|(mark, letter)| {
                        let is = end(to) == Some(mark.to_string());
                        view! { <option value=mark.to_string() selected=is>{letter}</option> }
                    }).collect_view()}
                </select>
            </label>
        }
    };
    view! {
        {choice("feature-along-from", "From mark", false)}
        {choice("feature-along-to", "to mark", true)}
    }
}

/// Where the approved viewpoint is: how far in front of the mark and how high above it.
#[component]
fn EyeForm(hand: Hand, id: StoredValue<FeatureId>) -> impl IntoView {
    let eye = move || {
        hand.of_job(|j| id.with_value(|id| j.features.get(id).and_then(|f| f.seen.clone())))
            .flatten()
    };
    let (away, above) = match untrack(eye) {
        Some(SeenFrom::Eye { away, above, .. }) => (away, above),
        _ => (Entry::of_mm(USUAL_EYE[0]), Entry::of_mm(USUAL_EYE[1])),
    };
    let far = Typing::of_length(Some(&away));
    let high = Typing::either_side(Some(&above), "below it", "above it");
    let done = move |_: bool| {
        let (Some(SeenFrom::Eye { mark, .. }), Some(away), Some(above)) =
            (untrack(eye), far.entry_now(), high.entry_now())
        else {
            return;
        };
        if away.mm <= Length::ZERO {
            return;
        }
        hand.say_if_new(
            EntityRef::Feature(id.get_value()),
            &FeatureEdit {
                seen: Some(SeenFrom::Eye { mark, away, above }),
                ..FeatureEdit::default()
            },
        );
    };
    view! {
        <TypedLength id="feature-eye-away" label="Eyes so far in front of it" typing=far done=done />
        <TypedLength id="feature-eye-above" label="and so high above it" typing=high done=done />
    }
}

/// Which mark hides which: on any face of the part.
#[component]
fn HidesForm(
    hand: Hand,
    id: StoredValue<FeatureId>,
    #[prop(into)] marks: Signal<Vec<(MarkId, String)>>,
    keep: Callback<Option<[MarkId; 2]>>,
) -> impl IntoView {
    let pair = Memo::new(move |_| {
        let seen = hand.of_job(|j| id.with_value(|id| j.features.get(id)?.seen.clone()));
        match seen.flatten() {
            Some(SeenFrom::Hides { nearer, hidden }) => Some([nearer, hidden]),
            _ => None,
        }
    });
    let is = move |k: usize| Signal::derive(move || pair.get().map(|p| p[k].clone()));
    let set = move |k: usize| {
        move |mark: MarkId| {
            if let Some(mut two) = pair.get_untracked() {
                // Taking the other's place changes them over.
                if two[1 - k] == mark {
                    two.swap(0, 1);
                } else {
                    two[k] = mark;
                }
                keep.run(Some(two));
            }
        }
    };
    view! {
        <div class="job-row">
            <MarkSelect id="feature-hides-near" label="In front" marks=marks is=is(0) set=set(0) />
            <MarkSelect id="feature-hides-far" label="hidden behind it" marks=marks is=is(1) set=set(1) />
        </div>
        <p class="second">"Where marks of different faces are to each other is read under Plan and height"</p>
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    #[test]
    fn what_is_chosen_is_what_is_shown_as_chosen() {
        let mark = MarkId::new("m1").unwrap();
        for chosen in [
            "straight", "level", "along", "middle", "mark", "front", "eye",
        ] {
            let (runs, seen) = taken_way(chosen, Some(&mark)).unwrap();
            assert_eq!(way(Some(runs), Some(&seen)), chosen);
        }
        assert_eq!(taken_way("front", None), None);
        assert_eq!(way(None, None), "straight");
    }
}
