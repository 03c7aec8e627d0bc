//! What a feature keeps square to the line of its rule: the pattern's distance from that line or from an
//! edge, or its share of the distance between two other marks.

use super::edge_model;
use super::hand::Hand;
use super::mark_select::MarkSelect;
use super::model;
use crate::widgets::choice::{Choice, Choices};
use leptos::prelude::*;
use samespot_core::job::{AcrossPair, EdgeId, EntityRef, FeatureEdit, FeatureId, MarkId, RuleSpec};

/// Square to the line of a rule.
#[derive(Debug, Clone, PartialEq)]
enum Across {
    /// The pattern's distance from the line.
    Kept,
    /// In proportion to a pair of its own.
    Share(AcrossPair),
    /// The pattern's distance from an edge.
    Edge(EdgeId),
}

impl Across {
    /// What a rule says; nothing where it follows no line.
    fn of(rule: &RuleSpec) -> Option<Self> {
        Some(match rule {
            RuleSpec::Line { across: None, .. } => Self::Kept,
            RuleSpec::Line {
                across: Some(pair), ..
            } => Self::Share(pair.clone()),
            RuleSpec::OffEdge { edge, .. } => Self::Edge(edge.clone()),
            RuleSpec::BestFit { .. } | RuleSpec::Edges { .. } => return None,
        })
    }

    /// Its name on the keys.
    const fn key(&self) -> &'static str {
        match self {
            Self::Kept => "kept",
            Self::Share(_) => "stretch",
            Self::Edge(_) => "edge",
        }
    }

    /// The rule with this instead.
    fn into_rule(self, old: &RuleSpec) -> Option<RuleSpec> {
        let (RuleSpec::Line {
            from, to, along, ..
        }
        | RuleSpec::OffEdge {
            from, to, along, ..
        }) = old
        else {
            return None;
        };
        let (from, to, along) = (from.clone(), to.clone(), along.clone());
        let side = match old {
            RuleSpec::Line { side, .. } => side.clone(),
            _ => None,
        };
        let across = match self {
            Self::Edge(edge) => {
                return Some(RuleSpec::OffEdge {
                    from,
                    to,
                    along,
                    edge,
                });
            }
            Self::Kept => None,
            Self::Share(pair) => Some(pair),
        };
        Some(RuleSpec::Line {
            from,
            to,
            side,
            along,
            across,
        })
    }
}

/// What it is usually in proportion to: from the first mark of its line to one off that line.
fn usual_pair(old: &RuleSpec, marks: &[(MarkId, String)]) -> Option<AcrossPair> {
    let [from, to] = old.line()?;
    let (third, _) = marks.iter().find(|(m, _)| m != from && m != to)?;
    Some(AcrossPair {
        from: from.clone(),
        to: third.clone(),
    })
}

/// Shown where it follows the line between two marks.
#[component]
pub(super) fn AcrossForm(hand: Hand, feature: FeatureId) -> impl IntoView {
    let id = StoredValue::new(feature);
    let rule = Memo::new(move |_| {
        hand.of_job(|j| id.with_value(|id| j.features.get(id)?.rule.clone()))
            .flatten()
    });
    let now = Memo::new(move |_| rule.with(|r| r.as_ref().and_then(Across::of)));
    let marks = Signal::derive(move || {
        let face = hand.face.get();
        let all = face.and_then(|face| hand.of_job(|j| model::marks(j, &face)));
        all.unwrap_or_default()
    });
    let edges = Memo::new(move |_| {
        let face = hand.face.get();
        let all = face.and_then(|face| hand.of_job(|j| edge_model::edges(j, &face)));
        all.unwrap_or_default()
    });
    let keep = move |across: Across| {
        let Some(rule) = rule.get_untracked().and_then(|r| across.into_rule(&r)) else {
            return;
        };
        hand.say_if_new(
            EntityRef::Feature(id.get_value()),
            &FeatureEdit {
                rule: Some(rule),
                ..FeatureEdit::default()
            },
        );
    };
    let taken = Signal::derive(move || {
        let key = now.with(|n| n.as_ref().map_or("kept", Across::key));
        key.to_owned()
    });
    let take = move |how: String| {
        let rule = rule.get_untracked();
        let wanted = match how.as_str() {
            "stretch" => rule
                .and_then(|r| usual_pair(&r, &marks.get_untracked()))
                .map(Across::Share)
                .ok_or("That needs a third mark, off the line of the first two: add it first"),
            "edge" => edges
                .with_untracked(|e| e.first().map(|(edge, _)| Across::Edge(edge.clone())))
                .ok_or("That needs an edge: add it under Edges first"),
            _ => Ok(Across::Kept),
        };
        match wanted {
            Ok(across) => keep(across),
            Err(why) => hand.session.notice(why, true),
        }
    };
    let pair = move || match now.get() {
        Some(Across::Share(pair)) => Some(pair),
        _ => None,
    };
    let set = move |first: bool| {
        move |mark: MarkId| {
            let Some(mut pair) = untrack(pair) else {
                return;
            };
            let (this, other) = if first {
                (&mut pair.from, &mut pair.to)
            } else {
                (&mut pair.to, &mut pair.from)
            };
            // Taking the other's place changes them over.
            if *other == mark {
                core::mem::swap(this, other);
            } else {
                *this = mark;
            }
            keep(Across::Share(pair));
        }
    };
    let end = move |first: bool| {
        Signal::derive(move || {
            let pair = pair()?;
            Some(if first { pair.from } else { pair.to })
        })
    };
    let off = move |ev: leptos::ev::Event| {
        if let Ok(edge) = EdgeId::new(&event_target_value(&ev)) {
            keep(Across::Edge(edge));
        }
    };
    let choices = move || {
        let mut choices = vec![
            Choice::words("kept", "it keeps its distance"),
            Choice::words("stretch", "it moves in proportion to two marks"),
        ];
        if edges.with(|e| !e.is_empty()) {
            choices.push(Choice::words("edge", "it keeps its distance from an edge"));
        }
        choices
    };
    view! {
        {move || view! {
            <Choices legend="Square to that line" shown=true choices=choices() taken=taken take=take />
        }}
        <Show when=move || pair().is_some()>
            <div class="job-row">
                <MarkSelect id="feature-across-from" label="In proportion to" marks=marks is=end(true) set=set(true) />
                <MarkSelect id="feature-across-to" label="and" marks=marks is=end(false) set=set(false) />
            </div>
        </Show>
        <Show when=move || taken.get() == "edge">
            <label class="job-field short">
                <span>"Off edge"</span>
                <select id="feature-off-edge" on:change=off>
                    {move || edges.get().into_iter().map(|(edge, letter)| {
                        let is = now.with(|n| *n == Some(Across::Edge(edge.clone())));
                        view! { <option value=edge.to_string() selected=is>{format!("edge {letter}")}</option> }
                    }).collect_view()}
                </select>
            </label>
            <p class="second">"Read its middle and three marks square from it, under Edges; and the two marks on every casting, under “Read something that is not on the list” in Measure"</p>
        </Show>
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use samespot_core::job::Follow;

    #[test]
    fn each_choice_comes_back_as_it_was_taken_and_keeps_the_line() {
        let mark = |m: &str| MarkId::new(m).unwrap();
        let line = RuleSpec::Line {
            from: mark("a"),
            to: mark("b"),
            side: None,
            along: Follow::InProportion,
            across: None,
        };
        let all = ["a", "b", "c"].map(|m| (mark(m), m.to_uppercase()));
        let pair = usual_pair(&line, &all).unwrap();
        assert_eq!((pair.from.as_str(), pair.to.as_str()), ("a", "c"));
        assert_eq!(usual_pair(&line, &all[..2]), None);
        let mut rule = line.clone();
        for across in [
            Across::Share(pair),
            Across::Edge(EdgeId::new("e").unwrap()),
            Across::Kept,
        ] {
            rule = across.clone().into_rule(&rule).unwrap();
            assert_eq!(Across::of(&rule), Some(across));
        }
        assert_eq!(rule, line);
    }
}
