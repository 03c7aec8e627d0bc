//! What guides a drill and could be made for a fixing on a piece, with what it would leave.

use super::view::GuideView;
use crate::job::{PieceId, SheetOf};
use crate::prepare::feature::Prepared;
use crate::prepare::stale::staleness;
use crate::prepare::{PrepareError, Source};
use crate::units::Length;

/// What the Holes screen says of a drill template or a jig.
pub(super) fn guide(
    source: &Source<'_>,
    of: SheetOf,
    piece: &PieceId,
    prepared: Result<Prepared, PrepareError>,
) -> GuideView {
    let printed = source.job.last_print(&of, piece);
    let mut view = GuideView {
        printed: printed.map(|p| format!("{} ({})", p.says.day, p.says.reference)),
        stale: printed.and_then(|_| staleness(source, &of, piece)),
        of,
        within: Length::ZERO,
        allowed: Length::ZERO,
        laying: String::new(),
        holes: Vec::new(),
        warnings: Vec::new(),
        cannot: None,
    };
    match prepared {
        Ok(p) => {
            view.within = p.budget.worst;
            view.allowed = p.allowed;
            let line = |h: &super::HolePlace| format!("Hole {}: {}", h.number, h.error_words());
            view.holes = p.holes.iter().map(line).collect();
            view.laying = p.laying_words;
            view.warnings = p.warnings;
        }
        Err(why) => view.cannot = Some(why.to_string()),
    }
    view
}
