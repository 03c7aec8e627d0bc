//! Which way is up on a face: from two marks that were levelled or plumbed on the pattern, else from
//! the heights of three on the board.

use super::super::kept_level::{BY_BOARD, stands_by};
use super::super::network::Marks;
use super::sure::Line;
use crate::units::Angle;
use serde::{Deserialize, Serialize};

/// Up on a face, as readings of the pattern tell it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct UpView {
    /// In the picture, anticlockwise from its right, rad.
    pub towards_rad: f64,
    /// *A–B falls 1.2° to the right; up is known within 0.3°*.
    pub sentence: String,
}

/// Two standard deviations.
const COVER: f64 = 2.0;

/// From a line to up on the pattern as approved, with how sure that is (k = 2).
fn from_line(marks: &Marks, line: &Line) -> Option<(Angle, Angle)> {
    let stance = stands_by(marks)?;
    let [from, to] = line.places();
    let up = marks.adjusted.up_against(stance, from, to)?;
    Some((up.turn, Angle::from_rad(COVER * up.sd.rad())))
}

/// How far what follows a line has to be turned from square to it so that it stands upright.
pub(super) fn upright(marks: &Marks, line: &Line) -> Option<Angle> {
    let (turn, _) = from_line(marks, line)?;
    Some(Angle::from_rad(turn.rad() - core::f64::consts::FRAC_PI_2))
}

/// What is said and drawn of up.
pub(super) fn view(marks: &Marks, line: &Line, [from, to]: [String; 2]) -> Option<UpView> {
    let (turn, sure) = from_line(marks, line)?;
    let off = turn.deg() - 90.0;
    let how = if off.abs() < sure.deg() {
        "is level, so far as the readings tell".to_owned()
    } else if off.abs() > 80.0 && off.abs() < 100.0 {
        "stands upright".to_owned()
    } else if off > 0.0 {
        format!("falls {:.1}° towards {to}", off)
    } else {
        format!("rises {:.1}° towards {to}", -off)
    };
    let by = match stands_by(marks).and_then(|k| marks.stood.get(k)) {
        Some(&BY_BOARD) => " by heights on the board",
        _ => "",
    };
    Some(UpView {
        towards_rad: line.direction_rad() + turn.rad(),
        sentence: format!(
            "{from}–{to} {how}; up is known within {:.1}°{by}",
            sure.deg().max(0.1)
        ),
    })
}
