//! What the Seat screen says.

use super::numbers::tenth;
use samespot_core::job::SeatWhen;
use samespot_core::prepare::seat::{
    PadFlag, PadView, SeatFrom, SeatVerdict, SeatView, StationState,
};
use samespot_core::units::Length;

/// What design/01 says of lifting.
pub const CAUTION: &str = "Shims are not a support. Strap, sling or prop the figure before anybody reaches under it; a second person holds it and stays";

/// *P1*.
#[must_use]
pub fn pad_letter(index: usize) -> String {
    format!("P{}", index + 1)
}

/// *S1*.
#[must_use]
pub fn station_letter(index: usize) -> String {
    format!("S{}", index + 1)
}

/// When something is read, as the head of a column.
#[must_use]
pub const fn when(when: SeatWhen) -> &'static str {
    match when {
        SeatWhen::Dry => "dry",
        SeatWhen::Wet => "wet",
        SeatWhen::Cured => "cured",
    }
}

/// What that time is for.
#[must_use]
pub const fn when_note(when: SeatWhen) -> &'static str {
    match when {
        SeatWhen::Dry => "set on trial",
        SeatWhen::Wet => "before it gels",
        SeatWhen::Cured => "this one counts",
    }
}

/// What is wrong at a pad; nothing where the bed fits.
#[must_use]
pub fn flag(pad: &PadView, view: &SeatView) -> Option<String> {
    let shim = pad.shim?.mm();
    let by = |mm: f64| tenth(Length::from_mm(mm));
    match pad.flag? {
        PadFlag::Fits => None,
        PadFlag::DrySpot => Some(format!(
            "dry spot here, {} short",
            by(view.least.mm() - shim)
        )),
        PadFlag::TooThick => Some(format!("too thick by {}", by(shim - view.greatest.mm()))),
    }
}

/// *Bed 3.8 to 5.2 mm, allowed 2.0 to 6.0*; nothing without shims.
#[must_use]
pub fn bed(view: &SeatView) -> Option<String> {
    let shims: Option<Vec<f64>> = view.pads.iter().map(|p| Some(p.shim?.mm())).collect();
    let shims = shims.filter(|s| !s.is_empty())?;
    let least = shims.iter().copied().fold(f64::MAX, f64::min);
    let most = shims.iter().copied().fold(f64::MIN, f64::max);
    let sure = view
        .sure
        .map_or_else(String::new, |s| format!(", each sure to ± {}", tenth(s)));
    Some(format!(
        "Bed {} to {} mm, allowed {} to {}{sure}. With these every station reads {} mm in the finished piece",
        tenth(Length::from_mm(least)),
        tenth(Length::from_mm(most)),
        tenth(view.least),
        tenth(view.greatest),
        tenth(view.locating),
    ))
}

/// What the shims rest on.
#[must_use]
pub const fn from(from: SeatFrom) -> &'static str {
    match from {
        SeatFrom::Heights => {
            "Worked out from the heights read on both castings; set it on trial and read the gaps to be surer"
        }
        SeatFrom::Trial => {
            "Worked out from the trial setting: gaps at the pads, heights at the stations"
        }
    }
}

/// A verdict in words.
#[must_use]
pub const fn verdict(verdict: SeatVerdict) -> &'static str {
    match verdict {
        SeatVerdict::Within => "within",
        SeatVerdict::Outside => "outside",
        SeatVerdict::CannotTell => "can’t tell with this",
    }
}

/// What is under a reading: what it should be, and what it is.
#[must_use]
pub fn under(state: &StationState) -> String {
    match (state.aim, state.verdict) {
        (Some(aim), Some(v)) => format!("{}, aim {}", verdict(v), tenth(aim)),
        (Some(aim), None) => format!("aim {}", tenth(aim)),
        (None, _) => String::new(),
    }
}

/// Lean and step in a sentence.
#[must_use]
pub fn lean(view: &SeatView) -> Option<String> {
    let lean = view.lean.as_ref()?;
    if lean.tilt_deg < 0.05 {
        return Some(format!(
            "By the {} readings it does not lean; the worst step at the edge is {} mm",
            when(lean.when),
            tenth(lean.step)
        ));
    }
    Some(format!(
        "By the {} readings it leans {:.1}°, high at the {}; the worst step at the edge is {} mm",
        when(lean.when),
        lean.tilt_deg,
        lean.high_towards,
        tenth(lean.step)
    ))
}

/// A signed tenth: *+0.7*.
#[must_use]
pub fn signed(length: Length) -> String {
    let text = tenth(length);
    if length.to_um() > 49 {
        format!("+{text}")
    } else {
        text.replace('-', "−")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sign_stands_before_what_rises() {
        let mm = Length::from_mm;
        assert_eq!(signed(mm(0.72)), "+0.7");
        assert_eq!(signed(mm(0.0)), "0.0");
        assert_eq!(signed(mm(-0.72)), "−0.7");
    }
}
