//! Two features that belong together, and one made from the other by mirroring.
//!
//! What is made from another has no sizes and no readings of its own: the fold copies the one it
//! is made from, turned over, so that whatever changes there changes here.

use super::design::BetweenMarks;
use super::design::{FeatureEdit, Hand, PairEdit};
use super::fold::Job;
use super::ids::*;
use super::rule_spec::{AcrossPair, RuleSpec};
use super::seen_from::SeenFrom;
use crate::units::Angle;
use serde::{Deserialize, Serialize};

/// What is mirrored across. Always said, never guessed: the wrong one makes a stencil that looks right.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(tag = "across", rename_all = "kebab-case")]
pub enum Mirror {
    /// The line halfway between two marks, square to the line from one to the other.
    Halfway {
        /// One mark.
        from: MarkId,
        /// The other.
        to: MarkId,
    },
    /// The line through two marks.
    Through {
        /// One mark.
        from: MarkId,
        /// The other.
        to: MarkId,
    },
    /// The figure's middle: the other one is on another face, whose marks are twins of this one's.
    Twins {
        /// A mark of the face that is mirrored.
        from: MarkId,
        /// Another.
        to: MarkId,
        /// The twin of the first on the other face.
        #[serde(rename = "from-twin")]
        from_twin: MarkId,
        /// The twin of the second.
        #[serde(rename = "to-twin")]
        to_twin: MarkId,
    },
}

impl Mirror {
    /// The two marks where it is mirrored from, then the marks that are their images.
    #[must_use]
    pub const fn marks(&self) -> [&MarkId; 4] {
        match self {
            Self::Halfway { from, to } => [from, to, to, from],
            Self::Through { from, to } => [from, to, from, to],
            Self::Twins {
                from,
                to,
                from_twin,
                to_twin,
            } => [from, to, from_twin, to_twin],
        }
    }

    /// The rule of the image. On one face both follow the same marks in the same way, so that the
    /// distance between them is held; on another face it follows the twins.
    fn rule(&self, rule: &RuleSpec) -> Option<RuleSpec> {
        let Self::Twins {
            from,
            to,
            from_twin,
            to_twin,
        } = self
        else {
            return Some(rule.clone());
        };
        let twin = |m: &MarkId| match m {
            m if m == from => Some(from_twin.clone()),
            m if m == to => Some(to_twin.clone()),
            _ => None,
        };
        match rule {
            RuleSpec::Line {
                from: a,
                to: b,
                along,
                across,
                ..
            } => Some(RuleSpec::Line {
                from: twin(a)?,
                to: twin(b)?,
                side: None,
                along: along.clone(),
                across: match across {
                    None => None,
                    Some(p) => Some(AcrossPair {
                        from: twin(&p.from)?,
                        to: twin(&p.to)?,
                    }),
                },
            }),
            // The image of an edge is another edge: nobody has said which.
            RuleSpec::Edges { .. } | RuleSpec::OffEdge { .. } => None,
            RuleSpec::BestFit { marks, scale } => {
                let mut marks = marks.clone();
                for mark in &mut marks {
                    mark.mark = twin(&mark.mark)?;
                }
                Some(RuleSpec::BestFit {
                    marks,
                    scale: *scale,
                })
            }
        }
    }

    /// From where the image is seen: in front of the image of the mark, where that is a mark too; any
    /// other is taken to stand on the middle, where both are seen from.
    fn seen(&self, seen: &SeenFrom) -> SeenFrom {
        let [from, to, from_image, to_image] = self.marks();
        let mut seen = seen.clone();
        let image = |mark: &mut MarkId| {
            if mark == from {
                mark.clone_from(from_image);
            } else if mark == to {
                mark.clone_from(to_image);
            }
        };
        match &mut seen {
            SeenFrom::Surface | SeenFrom::Middle => {}
            SeenFrom::Mark { mark } | SeenFrom::Level { mark } | SeenFrom::Eye { mark, .. } => {
                image(mark);
            }
            SeenFrom::Hides { nearer, hidden } => {
                image(nearer);
                image(hidden);
            }
        }
        seen
    }

    /// The line that the image runs along.
    fn along(&self, line: &BetweenMarks) -> BetweenMarks {
        let [from, to, from_image, to_image] = self.marks();
        let image = |mark: &MarkId| match mark {
            m if m == from => from_image.clone(),
            m if m == to => to_image.clone(),
            other => other.clone(),
        };
        BetweenMarks {
            from: image(&line.from),
            to: image(&line.to),
        }
    }

    /// The turn of the image where its rule's line is square to what is mirrored across, or its twin.
    fn turn(&self, turn: Angle) -> Angle {
        match self {
            Self::Twins { .. } => Angle::from_rad(core::f64::consts::PI - turn.rad()),
            Self::Halfway { .. } | Self::Through { .. } => Angle::from_rad(-turn.rad()),
        }
    }
}

/// What a feature is made from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MadeFrom<'a> {
    /// The pair.
    pub pair: &'a PairId,
    /// The feature that is mirrored.
    pub feature: &'a FeatureId,
    /// Across what.
    pub mirror: &'a Mirror,
}

impl PairEdit {
    /// The one that is mirrored, and the one that comes of it.
    #[must_use]
    pub fn mirrored(&self) -> Option<(&FeatureId, &FeatureId, &Mirror)> {
        let (left, right) = (self.left.as_ref()?, self.right.as_ref()?);
        let mirror = self.mirror.as_ref()?;
        match self.made? {
            _ if left == right => None,
            Hand::Left => Some((right, left, mirror)),
            Hand::Right => Some((left, right, mirror)),
        }
    }

    /// It holds this feature.
    #[must_use]
    pub fn holds(&self, feature: &FeatureId) -> bool {
        self.left.as_ref() == Some(feature) || self.right.as_ref() == Some(feature)
    }
}

impl Job {
    /// What a feature is made from, where it is made by mirroring.
    #[must_use]
    pub fn made_from(&self, feature: &FeatureId) -> Option<MadeFrom<'_>> {
        let of = |feature: &FeatureId| {
            self.pairs.iter().find_map(|(pair, edit)| {
                let (from, made, mirror) = edit.mirrored()?;
                (made == feature && self.features.contains_key(from)).then_some(MadeFrom {
                    pair,
                    feature: from,
                    mirror,
                })
            })
        };
        let found = of(feature)?;
        // An image of an image has no original that is sure to be one.
        of(found.feature).is_none().then_some(found)
    }

    /// The pair a feature is in.
    #[must_use]
    pub fn pair_of(&self, feature: &FeatureId) -> Option<(&PairId, &PairEdit)> {
        self.pairs.iter().find(|(_, p)| p.holds(feature))
    }

    /// Every feature that is made from another takes after it.
    pub(super) fn make_images(&mut self) {
        let images: Vec<(FeatureId, FeatureEdit)> = self
            .features
            .iter()
            .filter_map(|(id, own)| {
                let made = self.made_from(id)?;
                let from = self.features.get(made.feature)?;
                Some((id.clone(), image(own, from, made.mirror)))
            })
            .collect();
        self.features.extend(images);
    }
}

fn image(own: &FeatureEdit, from: &FeatureEdit, mirror: &Mirror) -> FeatureEdit {
    FeatureEdit {
        face: own.face.clone(),
        name: own.name.clone().or_else(|| from.name.clone()),
        hand: own.hand,
        laying: own.laying.clone(),
        section: own.section.clone(),
        mirrored: (from.mirrored != Some(true)).then_some(true),
        side: None,
        turn: Some(mirror.turn(from.turn.unwrap_or(Angle::ZERO))),
        turn_kept: from.turn_kept,
        rule: from.rule.as_ref().and_then(|r| mirror.rule(r)),
        outline: from.outline.clone(),
        runs: from.runs,
        skin: from.skin,
        along: from.along.as_ref().map(|l| mirror.along(l)),
        seen: from.seen.as_ref().map(|s| mirror.seen(s)),
        tolerance: from.tolerance,
        marker: from.marker,
        drawn: from.drawn,
        allowance: from.allowance,
        islands: from.islands,
        bridge: from.bridge,
        thickness: from.thickness,
        finish: from.finish.clone(),
        cut_out: from.cut_out,
    }
}
