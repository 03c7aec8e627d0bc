//! The chance that all bolts of a fixing enter, by how its holes are made on this piece.

use super::stands::{BRACKET_WITHIN, apart};
use super::view::{ChanceView, FixingView};
use crate::frames::{Flat, Vector2};
use crate::holes::chance::{Alike, Bracket, Budget, METHODS, Method, all_enter, enough};
use crate::holes::fastener::Thread;
use crate::holes::fit::{HoleTooSmall, slot};
use crate::job::{FixingEdit, SheetOf};
use crate::prepare::feature::Prepared;
use crate::prepare::holes::percent;
use crate::prepare::words::mm;
use crate::template::COVER_95;
use crate::units::Length;

/// The chance asked for before a method is called enough (common practice, no source).
const WANTED: f64 = 0.95;

/// What moves all holes of a fixing together, by how they are made.
pub(super) struct Moves {
    /// The place of the pattern as it was measured.
    pub(super) measured: Alike<Flat>,
    /// What the drill template leaves; nothing where none can be made.
    pub(super) by_template: Option<Alike<Flat>>,
    /// What the jig leaves.
    pub(super) by_jig: Option<Alike<Flat>>,
}

impl Moves {
    fn by(&self, method: Method) -> Option<Alike<Flat>> {
        match method {
            Method::Marked => Some(self.measured.clone()),
            Method::Templated => self.by_template.clone(),
            Method::Jigged => self.by_jig.clone(),
            // The bracket is its own measure.
            Method::ThroughTheBracket => Some(Alike::default()),
        }
    }
}

/// What a template or jig of a fixing leaves that moves all its holes together.
pub(super) fn together(prepared: &Prepared) -> Option<Alike<Flat>> {
    let basis = &prepared.basis;
    let (pose, printing) = basis.together(&prepared.placed, &prepared.laying).ok()?;
    let places: Vec<Vector2<Flat>> = basis.outline.iter().map(|p| p.from_origin()).collect();
    let spread = [(0, 0), (1, 0), (1, 1), (2, 0), (2, 1), (2, 2)].map(|at| pose[at]);
    let mut alike = Alike::of_pose(&places, spread);
    alike.causes.extend(printing);
    alike.known.clone_from(&basis.flattening);
    Some(alike)
}

/// Fills in the chances, and what to do where none is enough.
pub(super) fn chances(
    view: &mut FixingView,
    fixing: &FixingEdit,
    thread: Thread,
    places: &[Vector2<Flat>],
    moves: &Moves,
) -> Result<(), HoleTooSmall> {
    let apart = apart(fixing, thread)?;
    let (all, first) = enough(places, apart, BRACKET_WITHIN, |m| moves.by(m), WANTED);
    let of = |method: Method| all.iter().find(|(m, _)| *m == method).map(|(_, p)| *p);
    view.chances = METHODS
        .into_iter()
        .filter_map(|method| {
            Some(ChanceView {
                method: method.words().to_owned(),
                within: within(view, method),
                chance: of(method)?,
                enough: first == Some(method),
            })
        })
        .collect();
    let budget = Budget {
        apart,
        one: Method::Marked.within(),
        other: BRACKET_WITHIN,
    };
    let free = all_enter(places, budget, &Alike::default(), Bracket::MayMove);
    view.notes.push(format!(
        "The bracket is taken to be fast. Where it may still shift and turn as the bolts go in, it follows what moves all holes alike: marked out, {}",
        percent(free)
    ));
    if first.is_none() {
        // The slot that takes what is left of the least that any method leaves.
        let least = METHODS.into_iter().filter_map(|m| within(view, m));
        let least = least.reduce(|a, b| if b < a { b } else { a });
        let slots = least
            .and_then(|need| slot(view.drill, apart, need))
            .map_or_else(String::new, |long| {
                format!(
                    " {} × {} mm, long the way they are out",
                    mm(view.drill),
                    mm(long)
                )
            });
        view.notes.push(format!(
            "No way of drilling makes it likely that all bolts enter: wider holes, or slots{slots}"
        ));
    }
    Ok(())
}

/// How far the worst hole may come out from where it should be, 95 of 100: its place as it is
/// known, and what the method adds.
fn within(view: &FixingView, method: Method) -> Option<Length> {
    let guide = |wanted: fn(&SheetOf) -> bool| {
        let one = view.guides.iter().find(|g| wanted(&g.of));
        one.filter(|g| g.cannot.is_none()).map(|g| g.within)
    };
    match method {
        Method::Marked => {
            let place = view.holes.iter().map(|h| h.within.mm()).fold(0.0, f64::max);
            let marked = COVER_95 * method.within().mm() / libm::sqrt(3.0);
            Some(Length::from_mm(libm::hypot(place, marked)))
        }
        Method::Templated => guide(|of| matches!(of, SheetOf::Fixing(_))),
        Method::Jigged => guide(|of| matches!(of, SheetOf::Jig(_))),
        Method::ThroughTheBracket => None,
    }
}
