//! A shell: a thin skin taken off a good casting, with the opening cut in it and a register hole over
//! every mark. It lies on a face round both ways without darts.
//!
//! ```text
//!      ╭──╮ arms: from the middle out every way on paper is as long as on the skin (the polar map),
//!   B ─┤○ ├─ C     and an arm lies straight; what would pucker between two arms is cut out, open
//!      ╰┬─╯
//!       A          opening and holes are cut square through the skin: the paper lies a whole skin
//!                  further out than the face that the shell will lie on
//! ```

use super::feature::Prepared;
use super::words::tenth;
use crate::frames::{Flat, Point2, Vector2};
use crate::job::{FeatureEdit, PieceId, SheetOf};
use crate::surface::Dart;
use crate::units::{Angle, Length};

/// A skin of two layers of 450 g/m² mat, laid up by hand (common practice, no source).
pub const USUAL_SKIN: Length = Length::from_mm(2.0);

/// How well an edge is filed to a pencil line in laminate, one standard deviation each way (common
/// practice, no source).
const FILED: Length = Length::from_mm(0.4);

/// The pencil that marks the skin, one standard deviation each way.
const PENCILLED: Length = Length::from_mm(0.25);

/// Paper left about the opening, and on either side of the middle of an arm.
const ABOUT_OPENING: Length = Length::from_mm(8.0);
const HALF_ARM: Length = Length::from_mm(14.0);

/// A wedge that ends so near before the crosses is not worth a cut.
const LEAST_DEPTH: Length = Length::from_mm(20.0);

/// Between arms as close as this nothing puckers worth a cut.
const LEAST_WEDGE: Angle = Angle::from_rad(6.0 * core::f64::consts::PI / 180.0);

/// Arms further apart leave no paper between them.
const WIDEST_WEDGE: Angle = Angle::from_rad(150.0 * core::f64::consts::PI / 180.0);

/// A shell's rest is spoken of from this on.
const REST_WORTH_SAYING: Length = Length::from_mm(0.3);

/// How thick the skin is to be.
pub(super) fn skin_of(edit: &FeatureEdit) -> Length {
    edit.skin.filter(|t| t.mm() > 0.0).unwrap_or(USUAL_SKIN)
}

/// What cutting the opening adds to the marker's own scatter.
pub(super) fn scatter(marker: Length) -> Length {
    let all = [marker, FILED, PENCILLED].map(|l| l.mm() * l.mm());
    Length::from_mm(libm::sqrt(all.iter().sum()))
}

/// The wedges between the arms of its sheet: clear of the opening and of every cross.
pub(super) fn between_arms(outline: &[Point2<Flat>], crosses: &[Point2<Flat>]) -> Vec<Dart> {
    let mut arms: Vec<(f64, f64)> = crosses
        .iter()
        .map(|c| c.from_origin())
        .filter(|c| c.norm_mm() > 1.0)
        .map(|c| (c.direction_rad(), c.norm_mm()))
        .collect();
    arms.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut wedges = Vec::new();
    for (k, &(from, near)) in arms.iter().enumerate() {
        let Some(&(next, far)) = arms.get(k + 1).or_else(|| arms.first()) else {
            continue;
        };
        let gap = if k + 1 < arms.len() {
            next - from
        } else {
            next - from + core::f64::consts::TAU
        };
        if gap <= 0.0 || gap >= WIDEST_WEDGE.rad() {
            continue;
        }
        let out =
            Vector2::<Flat>::from_mm(libm::cos(from + gap / 2.0), libm::sin(from + gap / 2.0));
        // Past the opening's furthest point in its own direction, and where both arms are clear of it.
        let past = outline
            .iter()
            .map(|p| p.from_origin().dot(out))
            .fold(0.0, f64::max)
            + ABOUT_OPENING.mm();
        let apart = HALF_ARM.mm() / libm::sin(gap / 2.0);
        let tip = past.max(apart);
        if tip + LEAST_DEPTH.mm() >= near.min(far) {
            continue;
        }
        // Its edges run along the arms: no narrower at the cross than at the tip.
        let angle = Angle::from_rad(gap.min(core::f64::consts::PI * 0.8));
        if angle < LEAST_WEDGE {
            continue;
        }
        wedges.push(Dart {
            tip: Point2::ORIGIN + out * tip,
            out,
            angle,
        });
    }
    wedges
}

/// What is done with its sheet, before the line that says how the shell is laid.
pub(super) fn first_words(skin: Length, wedges: usize) -> String {
    let cut = match wedges {
        0 => String::new(),
        1 => "Cut out the wedge between the arms; it stays open. ".to_owned(),
        n => format!("Cut out the {n} wedges between the arms; they stay open. "),
    };
    format!(
        "For a shell {} mm thick, on its outside. {cut}Tape the middle down, smooth each arm outwards, mark opening and crosses; drill the crosses 3 mm and cut the opening square to the skin. The finished shell: ",
        super::words::mm(skin)
    )
}

/// What is minded when laminate is cut.
pub(super) fn cautions() -> Vec<String> {
    let dust = "Cutting and filing laminate: respirator for fine dust (P3 or the local equal), extraction, eye protection, gloves for raw edges";
    let resin = "Laying up the skin: release film on the casting, gloves, air drawn through, no flame; follow the resin maker's sheet and local rules";
    [dust, resin].map(|c| format!("{c}.")).to_vec()
}

/// Where a rigid shell comes to rest on castings that are rounder or flatter than its own.
#[derive(Debug, Clone, PartialEq)]
pub struct Rest {
    /// The piece whose casting it is best pulled off.
    pub off: PieceId,
    /// Furthest it stands off any of the others, at its middle or its rim.
    pub gap: Length,
    /// On which.
    pub on: PieceId,
    /// It rocks there, touching in the middle only; else it touches round its rim.
    pub rocks: bool,
}

/// Off which of these castings a shell is best pulled, and how it rests on the others; nothing where
/// the face unrolls.
///
/// A cap of reach ρ on a ball of radius R is ρ²/2R high: two of unlike radii stand apart by the
/// difference.
pub(super) fn rest(group: &[&Prepared]) -> Option<Rest> {
    fn height(p: &Prepared) -> Option<f64> {
        let radius = p.surface.ball_radius_mm(p.placed.pose.centre)?;
        let reach = p
            .crosses
            .iter()
            .filter(|c| c.gone.is_none())
            .map(|c| c.at.from_origin().norm_mm())
            .fold(0.0, f64::max);
        Some(reach * reach / (2.0 * radius))
    }
    let heights: Vec<(&Prepared, f64)> = group
        .iter()
        .map(|&p| Some((p, height(p)?)))
        .collect::<Option<_>>()?;
    let worst_off = |own: f64| {
        heights
            .iter()
            .map(|&(p, other)| (p, own - other))
            .max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))
    };
    let (off, on, by) = heights
        .iter()
        .filter_map(|&(p, own)| worst_off(own).map(|(on, by)| (p, on, by)))
        .min_by(|a, b| a.2.abs().total_cmp(&b.2.abs()))?;
    Some(Rest {
        off: off.piece.clone(),
        gap: Length::from_mm(by.abs()),
        on: on.piece.clone(),
        // A shell flatter than what it lies on touches in the middle.
        rocks: by < 0.0,
    })
}

impl Rest {
    /// In a sentence; pieces by number.
    #[must_use]
    pub fn in_words(&self, number: impl Fn(&PieceId) -> String) -> String {
        let off = number(&self.off);
        if self.gap < REST_WORTH_SAYING {
            return format!(
                "pull it off the casting of piece {off}: on every other it rests within {} mm all over",
                tenth(REST_WORTH_SAYING)
            );
        }
        let on = number(&self.on);
        let how = if self.rocks {
            "it touches in the middle and can rock: press it down evenly, its rim stands off"
        } else {
            "it rests on its rim, its middle stands off"
        };
        format!(
            "pull it off the casting of piece {off}; on piece {on} {how} {} mm",
            tenth(self.gap)
        )
    }
}

/// Whether a sheet is of a shell.
pub(super) const fn is_shell(of: &SheetOf) -> bool {
    matches!(of, SheetOf::Shell(_))
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    fn at(deg: f64, mm: f64) -> Point2<Flat> {
        let a = Angle::from_deg(deg).rad();
        Point2::from_mm(mm * libm::cos(a), mm * libm::sin(a))
    }

    #[test]
    fn wedges_are_clear_of_the_opening_and_of_every_arm() {
        let outline: Vec<_> = (0..72).map(|k| at(f64::from(k) * 5.0, 31.0)).collect();
        let crosses = [at(90.0, 90.0), at(200.0, 85.0), at(330.0, 100.0)];
        let wedges = between_arms(&outline, &crosses);
        assert_eq!(wedges.len(), 3);
        for dart in &wedges {
            for p in &outline {
                assert!(dart.clear_of(*p).mm() >= ABOUT_OPENING.mm() - 1e-6);
            }
            for c in &crosses {
                // All the way along the arm, not at its end alone.
                for share in [0.3, 0.6, 1.0] {
                    let along = Point2::ORIGIN + c.from_origin() * share;
                    let clear = dart.clear_of(along).mm();
                    assert!(clear >= HALF_ARM.mm() - 1e-6, "{clear}");
                }
            }
        }
        // All crosses on one side: nothing to cut on the other.
        assert_eq!(
            between_arms(&outline, &[at(80.0, 90.0), at(100.0, 90.0)]).len(),
            0
        );
        assert_eq!(
            between_arms(&outline, &[at(60.0, 140.0), at(120.0, 140.0)]).len(),
            1
        );
    }

    #[test]
    fn three_scatters_add_as_squares() {
        let all = scatter(Length::from_mm(0.25));
        assert!((all.mm() - libm::sqrt(0.25 * 0.25 * 2.0 + 0.16)).abs() < 1e-12);
    }
}
