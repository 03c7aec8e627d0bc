//! Outlines built from sizes, centred on the origin of their frame.

use super::lettering::{self, Anchor, Weight};
use super::{Contour, Outline, OutlineError, arcs};
use crate::frames::{Frame, Point2, Vector2};
use crate::units::{Angle, Length};
use core::f64::consts::{FRAC_PI_2, PI, TAU};
use kurbo::BezPath;

impl<F: Frame> Outline<F> {
    /// A circle.
    ///
    /// # Errors
    /// [`OutlineError::NotPositive`] for a diameter of 0 or less.
    pub fn circle(diameter: Length) -> Result<Self, OutlineError> {
        let d_mm = positive("the diameter", diameter)?;
        Ok(Self::from_iter([oval(d_mm / 2.0, d_mm / 2.0)]))
    }
    /// An ellipse with upright axes.
    ///
    /// # Errors
    /// [`OutlineError::NotPositive`] for a width or height of 0 or less.
    pub fn ellipse(width: Length, height: Length) -> Result<Self, OutlineError> {
        let (w_mm, h_mm) = (
            positive("the width", width)?,
            positive("the height", height)?,
        );
        Ok(Self::from_iter([oval(w_mm / 2.0, h_mm / 2.0)]))
    }
    /// A circle with a concentric hole.
    ///
    /// # Errors
    /// [`OutlineError::NotPositive`] for the hole, or when it leaves no ring.
    pub fn ring(outside: Length, hole: Length) -> Result<Self, OutlineError> {
        let (out_mm, in_mm) = (
            positive("the outside", outside)?,
            positive("the hole", hole)?,
        );
        positive("what the hole leaves", outside - hole)?;
        Ok(Self::from_iter([
            oval(out_mm / 2.0, out_mm / 2.0),
            oval(in_mm / 2.0, in_mm / 2.0),
        ]))
    }
    /// A star with one point up. `across` is the circle through its points, `waist` the one through
    /// its inner corners; without it each side runs on in that of the next point but one (in three and
    /// four points, which have no such line, half of `across`).
    ///
    /// # Errors
    /// [`OutlineError::StarPoints`], [`OutlineError::NotPositive`] for a size, or a waist that is not
    /// inside the points.
    pub fn star(points: u32, across: Length, waist: Option<Length>) -> Result<Self, OutlineError> {
        if !(3..=60).contains(&points) {
            return Err(OutlineError::StarPoints { given: points });
        }
        let out_mm = positive("the star", across)? / 2.0;
        let step = PI / f64::from(points);
        let share = if points > 4 {
            libm::cos(2.0 * step) / libm::cos(step)
        } else {
            0.5
        };
        let waist = waist.unwrap_or(across * share);
        let in_mm = positive("the waist", waist)? / 2.0;
        positive("how far the points stand out", across - waist)?;
        let corners: Vec<Point2<F>> = (0..2 * points)
            .map(|k| {
                let r_mm = if k % 2 == 0 { out_mm } else { in_mm };
                let at = FRAC_PI_2 + step * f64::from(k);
                Point2::from_mm(r_mm * libm::cos(at), r_mm * libm::sin(at))
            })
            .collect();
        Ok(Contour::closed_through(&corners).into_iter().collect())
    }
    /// A rectangle with round corners; radius 0 leaves them sharp.
    ///
    /// # Errors
    /// [`OutlineError::NotPositive`] for the sides, [`OutlineError::CornerTooLarge`] for the radius.
    pub fn rounded_rectangle(
        width: Length,
        height: Length,
        corner: Length,
    ) -> Result<Self, OutlineError> {
        let (w_mm, h_mm) = (
            positive("the width", width)?,
            positive("the height", height)?,
        );
        let (radius_mm, most_mm) = (corner.mm(), w_mm.min(h_mm) / 2.0);
        if !(0.0..=most_mm).contains(&radius_mm) {
            return Err(OutlineError::CornerTooLarge { radius_mm, most_mm });
        }
        let (x, y) = (w_mm / 2.0 - radius_mm, h_mm / 2.0 - radius_mm);
        let mut path = BezPath::new();
        path.move_to((w_mm / 2.0, -y));
        for (i, (cx, cy)) in [(x, -y), (x, y), (-x, y), (-x, -y)]
            .into_iter()
            .enumerate()
            .skip(1)
        {
            #[expect(clippy::cast_precision_loss, reason = "1, 2 or 3")]
            let from = (i as f64 - 1.0) * FRAC_PI_2;
            corner_arc(&mut path, (cx, cy), radius_mm, from);
        }
        corner_arc(&mut path, (x, -y), radius_mm, 3.0 * FRAC_PI_2);
        path.close_path();
        Ok(Self::from_iter([Contour::trusted(path, true)]))
    }
    /// Part of a ring, symmetrical about up: `middle` is the radius halfway across its `width`, `sweep`
    /// the angle it spans about its centre, which is the origin.
    ///
    /// # Errors
    /// [`OutlineError::NotPositive`] when a size is 0 or less, [`OutlineError::Sweep`] for the angle.
    pub fn arc_band(middle: Length, width: Length, sweep: Angle) -> Result<Self, OutlineError> {
        let (mid_mm, w_mm) = (
            positive("the radius", middle)?,
            positive("the width", width)?,
        );
        positive("the inner radius", middle - width * 0.5)?;
        if !(sweep.rad() > 0.0 && sweep.rad() < TAU) {
            return Err(OutlineError::Sweep {
                given_deg: sweep.deg(),
            });
        }
        let (out_mm, in_mm) = (mid_mm + w_mm / 2.0, mid_mm - w_mm / 2.0);
        let (from, to) = (FRAC_PI_2 - sweep.rad() / 2.0, FRAC_PI_2 + sweep.rad() / 2.0);
        let mut path = BezPath::new();
        path.move_to((out_mm * libm::cos(from), out_mm * libm::sin(from)));
        arcs::arc_to(&mut path, (0.0, 0.0), (out_mm, out_mm), from, to);
        path.line_to((in_mm * libm::cos(to), in_mm * libm::sin(to)));
        arcs::arc_to(&mut path, (0.0, 0.0), (in_mm, in_mm), to, from);
        path.close_path();
        Ok(Self::from_iter([Contour::trusted(path, true)]))
    }
    /// An open straight line.
    ///
    /// # Errors
    /// [`OutlineError::NotPositive`] when both ends are the same point.
    pub fn line(from: Point2<F>, to: Point2<F>) -> Result<Self, OutlineError> {
        positive("the length of the line", from.distance(to))?;
        Ok(Contour::open_through(&[from, to]).into_iter().collect())
    }
    /// One line of text, its middle on the origin, with the characters no shape was found for.
    ///
    /// # Errors
    /// [`OutlineError::NotPositive`] for a cap height of 0 or less.
    pub fn text(
        text: &str,
        cap_height: Length,
        weight: Weight,
    ) -> Result<(Self, Vec<char>), OutlineError> {
        positive("the height of the letters", cap_height)?;
        let set = lettering::set_text_at(text, cap_height, weight, Anchor::Middle);
        let down = Vector2::from_mm(0.0, -cap_height.mm() / 2.0);
        Ok((
            Self::from_paths_mm(&set.contours)?.shifted(down),
            set.missing,
        ))
    }
    /// One line of text in single strokes, its middle on the origin, with the characters no shape
    /// was found for. Its contours are open, but for dots and rings.
    ///
    /// # Errors
    /// [`OutlineError::NotPositive`] for a cap height of 0 or less.
    pub fn strokes(text: &str, cap_height: Length) -> Result<(Self, Vec<char>), OutlineError> {
        let cap_mm = positive("the height of the letters", cap_height)?;
        let set = super::strokes::set(text, cap_mm);
        let to_middle = Vector2::from_mm(-set.width_mm / 2.0, -cap_mm / 2.0);
        Ok((
            Self::from_paths_mm(&set.lines)?.shifted(to_middle),
            set.missing,
        ))
    }
}

fn positive(what: &'static str, given: Length) -> Result<f64, OutlineError> {
    let given_mm = given.mm();
    if given_mm > 0.0 {
        Ok(given_mm)
    } else {
        Err(OutlineError::NotPositive { what, given_mm })
    }
}

fn oval<F: Frame>(half_w_mm: f64, half_h_mm: f64) -> Contour<F> {
    let mut path = BezPath::new();
    path.move_to((half_w_mm, 0.0));
    arcs::arc_to(&mut path, (0.0, 0.0), (half_w_mm, half_h_mm), 0.0, PI);
    arcs::arc_to(&mut path, (0.0, 0.0), (half_w_mm, half_h_mm), PI, TAU);
    path.close_path();
    Contour::trusted(path, true)
}

/// A quarter turn about `centre`, reached by a straight line.
fn corner_arc(path: &mut BezPath, centre: (f64, f64), radius_mm: f64, from: f64) {
    let start = (
        centre.0 + radius_mm * libm::cos(from),
        centre.1 + radius_mm * libm::sin(from),
    );
    path.line_to(start);
    if radius_mm > 0.0 {
        arcs::arc_to(path, centre, (radius_mm, radius_mm), from, from + FRAC_PI_2);
    }
}
