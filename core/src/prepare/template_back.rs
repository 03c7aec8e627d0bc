//! A template's own line, laid back on something that is right: a fresh print of it, or the piece
//! that was approved. Two bars tell its scale; a knife that slipped or an edge that wore is told only here.

use super::rack::{Size, SizeSays};
use super::words::{mm, tenth};
use crate::check::{GAP_SD, Gaps};
use crate::job::LayBackRead;
use crate::units::Length;

/// Two register marks brought over each other by eye, each way (common practice, no source).
const OVER_EACH_OTHER_MM: f64 = 0.14;

/// What was typed of a template's own lay-back, judged.
#[must_use]
pub fn judge_read(read: &LayBackRead, room: Length) -> SizeSays {
    let gaps = Gaps {
        top: read.top.mm,
        right: read.right.mm,
        bottom: read.bottom.mm,
        left: read.left.mm,
    };
    judge_back(&gaps, room)
}

/// What four gaps of a template's own lay-back come to, against how far out its line may be.
///
/// A line is as far out as its worst gap. Each gap is read to [`GAP_SD`], and the two are brought over
/// each other with an error of their own that all four gaps share.
fn judge_back(gaps: &Gaps, room: Length) -> SizeSays {
    let named = [
        ("12 o’clock", gaps.top),
        ("3 o’clock", gaps.right),
        ("6 o’clock", gaps.bottom),
        ("9 o’clock", gaps.left),
    ];
    let sure = 2.0 * libm::hypot(GAP_SD.mm(), OVER_EACH_OTHER_MM);
    let mut worst = named[0];
    for gap in named {
        if gap.1.mm().abs() > worst.1.mm().abs() + 0.001 {
            worst = gap;
        }
    }
    let off = worst.1.mm().abs();
    let (size, after) = if off + sure <= room.mm() {
        (Size::Proved, "its line is right")
    } else if off - sure > room.mm() {
        (Size::Wrong, "its line is off")
    } else {
        (Size::NotProved, "this can’t tell")
    };
    let found = if off < 0.05 {
        "on the line all round".to_owned()
    } else {
        let way = if worst.1.mm() > 0.0 {
            "inside"
        } else {
            "outside"
        };
        format!(
            "its line is {} mm too far {way} at {}",
            mm(worst.1.abs()),
            worst.0
        )
    };
    SizeSays {
        size,
        lines: vec![format!(
            "Laid back: {found}, read to ± {} mm; {} mm may be out: {after}",
            mm(Length::from_mm(sure)),
            tenth(room)
        )],
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn says(top: f64, left: f64, room: f64) -> Size {
        let gaps = Gaps {
            top: Length::from_mm(top),
            right: Length::ZERO,
            bottom: Length::ZERO,
            left: Length::from_mm(left),
        };
        judge_back(&gaps, Length::from_mm(room)).size
    }

    /// ± 2·√(0.25² + 0.14²) = ± 0.573 mm (JCGM 100, 5.1.2: independent parts add as squares).
    #[test]
    fn the_worst_gap_decides_with_its_doubt_on_the_safe_side() {
        assert_eq!(says(0.4, -0.2, 1.0), Size::Proved);
        assert_eq!(says(0.4, -0.5, 1.0), Size::NotProved);
        assert_eq!(says(0.0, -1.5, 1.0), Size::NotProved);
        assert_eq!(says(0.0, -1.6, 1.0), Size::Wrong);
        assert_eq!(says(1.6, 0.0, 1.0), Size::Wrong);
        // Nothing is proved where the reading is worth less than what is asked.
        assert_eq!(says(0.0, 0.0, 0.5), Size::NotProved);
        // A gap that is no number never gets here: a length refuses it.
        assert!(Length::try_from_mm(f64::NAN).is_err());
    }

    #[test]
    fn it_says_where_and_which_way() {
        let gaps = Gaps {
            top: Length::from_mm(0.5),
            right: Length::from_mm(-2.0),
            bottom: Length::ZERO,
            left: Length::ZERO,
        };
        let says = judge_back(&gaps, Length::from_mm(1.0));
        assert!(
            says.lines[0].contains("2 mm too far outside at 3 o’clock"),
            "{}",
            says.lines[0]
        );
    }
}
