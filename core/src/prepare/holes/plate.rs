//! What goes through a plate on pins: bushes that guide a drill, or the bolts that hold a bracket
//! while its glass cures.

use crate::holes::bush::Bush;
use crate::holes::chance::Method;
use crate::holes::fastener::{Clearance, Thread};
use crate::prepare::words::{mm, tenth};
use crate::template::TermKind;
use crate::units::Length;

/// A setting plate is so thick at least, or it bends as its bolts are drawn up (common practice, no
/// source).
const STIFF: Length = Length::from_mm(6.0);

/// What goes through the plate.
pub(super) enum Takes {
    /// A bush in every hole.
    Bushes(Bush),
    /// A bolt of the bracket in every hole.
    Bolts(Thread),
}

impl Takes {
    /// The bore: of the bush, or that the bolt passes with the least play.
    pub(super) fn bore(&self) -> Length {
        match self {
            Self::Bushes(bush) => bush.drill,
            Self::Bolts(thread) => thread.clearance(Clearance::Fine),
        }
    }

    pub(super) const fn bush(&self) -> Option<Length> {
        match self {
            Self::Bushes(bush) => Some(bush.outside),
            Self::Bolts(_) => None,
        }
    }

    /// Across what is cut out of the plate.
    pub(super) fn across(&self) -> Length {
        self.bush().unwrap_or_else(|| self.bore())
    }

    pub(super) const fn what(&self) -> &'static str {
        match self {
            Self::Bushes(_) => "bushes",
            Self::Bolts(_) => "bolts",
        }
    }

    /// What it leaves each way at a face or bracket `gap` below, one standard deviation. A bound ±a
    /// counts a/√3 (JCGM 100:2008 4.3.7).
    pub(super) fn leaves(&self, gap: Length) -> Length {
        match self {
            Self::Bushes(bush) => bush.at_the_face(Method::Jigged.within(), gap),
            // A bolt drawn up hard stands square; it may lie anywhere in its play.
            Self::Bolts(thread) => {
                let play = (self.bore() - thread.diameter()).mm() / 2.0;
                Length::from_mm(play / libm::sqrt(3.0))
            }
        }
    }

    pub(super) const fn left_by(&self) -> TermKind {
        match self {
            Self::Bushes(_) => TermKind::Drilling,
            Self::Bolts(_) => TermKind::Bolting,
        }
    }

    pub(super) const fn thickness(&self) -> Length {
        match self {
            Self::Bushes(bush) => bush.length,
            Self::Bolts(_) => STIFF,
        }
    }

    /// How it stands at a hole.
    pub(super) fn at_hole(&self) -> String {
        match self {
            Self::Bushes(_) => "square to the plate".into(),
            Self::Bolts(thread) => format!("{} through the bracket’s own hole", thread.name()),
        }
    }

    /// How the plate is made, after its thickness.
    pub(super) fn made(&self) -> String {
        match self {
            Self::Bushes(bush) => format!(
                "; bushes {} in {} outside, {} long at least (as jig bushes commonly come: measure yours before boring), pressed in square; trim line is the plate's edge",
                mm(bush.drill),
                mm(bush.outside),
                mm(bush.length)
            ),
            Self::Bolts(thread) => format!(
                "; holes {} for {} (ISO 273 fine, where metric); trim line is the plate's edge; release film or wax on the side of the glass",
                mm(self.bore()),
                thread.name()
            ),
        }
    }

    pub(super) const fn name(&self) -> &'static str {
        match self {
            Self::Bushes(_) => "drill in its bush",
            Self::Bolts(_) => "bracket on its bolts",
        }
    }

    pub(super) const fn mind(&self) -> &'static str {
        match self {
            Self::Bushes(_) => {
                "a second person holds the plate down on its pins; it lifts off square, nothing hooks under"
            }
            Self::Bolts(_) => {
                "bolts finger tight, pins in their marks, then draw the bolts up crosswise and look at every pin again; the plate stays on until the glass has cured; bolts out first, then it lifts off square"
            }
        }
    }

    pub(super) fn size_words(&self, count: usize, drill_for: &str) -> String {
        let s = if count == 1 { "" } else { "s" };
        match self {
            Self::Bushes(bush) => {
                format!(
                    "{count} bush hole{s}, drill {} mm: {drill_for}",
                    mm(bush.drill)
                )
            }
            Self::Bolts(thread) => format!(
                "{count} bolt hole{s} {} mm: the bracket hangs on its own {} bolts",
                mm(self.bore()),
                thread.name()
            ),
        }
    }

    /// What is minded before it is used, `top` from the face at the middle to the plate's underside.
    pub(super) fn minded(&self, top: Length) -> Vec<String> {
        match self {
            Self::Bushes(_) => Vec::new(),
            Self::Bolts(_) => vec![
                format!(
                    "spacers {} mm long on the bolts bring the bracket level with the face at the middle of its holes; longer by as much as it lies deeper",
                    tenth(top)
                ),
                "before the glass cures and before anything is closed: every bolt turns in its thread by hand, and a socket reaches it".into(),
                "after cure read the bracket’s holes again on the Holes screen: those readings replace its place on the drawing for every later hole".into(),
            ],
        }
    }
}
