//! Lines of an outline that are not closed: they have no inside, so nothing is cut out along them and no
//! allowance is taken off; that is said, with the gaps that look as if nobody meant them.

use super::islands::place;
use super::words::mm;
use crate::frames::Flat;
use crate::outline::Outline;
use crate::units::Length;

/// Ends nearer to each other than this, or than a twentieth of the line's length, look like a slip of the
/// drawing (common practice, no source): a letter's stroke or a brow ends further away.
const SLIP: Length = Length::from_mm(3.0);
const SLIP_SHARE: f64 = 0.05;
/// So many gaps are told one by one.
const TOLD: usize = 3;

/// The closed contours of an outline and the open ones.
pub(super) fn parted(outline: &Outline<Flat>) -> (Outline<Flat>, Outline<Flat>) {
    let all = outline.contours().iter().cloned();
    let (closed, open): (Vec<_>, Vec<_>) = all.partition(|c| c.is_closed());
    (closed.into_iter().collect(), open.into_iter().collect())
}

/// What is to be said of the open ones beside closed ones, or alone.
pub(super) fn words(open: &Outline<Flat>, beside_closed: bool, notes: &mut Vec<String>) {
    let count = open.contours().len();
    if count == 0 {
        return;
    }
    let (lines, are, they) = if count == 1 {
        ("1 line".to_owned(), "is", "it is")
    } else {
        (format!("{count} lines"), "are", "they are")
    };
    notes.push(if beside_closed {
        format!(
            "{lines} of the outline {are} open: {they} drawn, routed or pricked along as drawn, without an allowance, and nothing is cut out there"
        )
    } else {
        "no line of the outline is closed: it is drawn, routed or pricked along as drawn, without an allowance, and nothing falls out".to_owned()
    });
    let slips: Vec<(Length, String)> = open
        .contours()
        .iter()
        .filter_map(|c| {
            let run = c.polyline(crate::outline::FLATTENING);
            let (first, last) = (*run.first()?, *run.last()?);
            let long: f64 = run.windows(2).map(|w| w[0].distance(w[1]).mm()).sum();
            let gap = first.distance(last);
            let slip = gap <= SLIP || gap.mm() <= SLIP_SHARE * long;
            slip.then(|| (gap, place(last)))
        })
        .collect();
    for (gap, at) in slips.iter().take(TOLD) {
        notes.push(format!(
            "a line has a gap of {} mm, {at}: if it bounds paint, close it in the drawing and bring the file in again; it is not closed here",
            mm(*gap)
        ));
    }
    if let Some(more) = slips.len().checked_sub(TOLD).filter(|n| *n > 0) {
        notes.push(format!("{more} more such gaps"));
    }
}
