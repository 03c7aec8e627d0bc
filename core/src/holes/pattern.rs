//! Where the holes of a pattern lie about its middle.

use crate::frames::{Frame, Point2, Vector2};
use crate::units::{Angle, Length};

/// A pattern of holes about its middle: across to the right, up away from the near edge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Pattern {
    /// One hole.
    Single,
    /// Holes on a line across, evenly spaced about the middle.
    Row {
        /// How many.
        count: u32,
        /// From one to the next.
        pitch: Length,
    },
    /// Evenly round a circle.
    BoltCircle {
        /// How many.
        count: u32,
        /// Across the circle, through the centres.
        diameter: Length,
        /// Where the first lies: anticlockwise from across.
        first: Angle,
    },
    /// Four at the corners of a rectangle: near left, near right, far right, far left.
    Rectangle {
        /// Across.
        across: Length,
        /// Up.
        up: Length,
    },
}

/// Why a pattern can't be laid out.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PatternError {
    /// Too few or too many.
    #[error("{0} holes make no pattern: 1 to {MOST}")]
    Count(u32),
    /// A size that is none.
    #[error("{what} of {} mm is no size: more than 0", .size.mm())]
    Size {
        /// Which.
        what: &'static str,
        /// As given.
        size: Length,
    },
    /// Nothing left between the ends.
    #[error(
        "the edge is {length_mm:.0} mm and the end distances take {ends_mm:.0} mm of it: nothing is left for a row"
    )]
    NoRoom {
        /// Along the edge.
        length_mm: f64,
        /// Both ends.
        ends_mm: f64,
    },
}

/// No pattern has more.
pub const MOST: u32 = 200;

impl Pattern {
    /// The places, in the order they are numbered.
    ///
    /// # Errors
    /// [`PatternError`] for no holes, too many, or a size that is none.
    pub fn places<F: Frame>(self) -> Result<Vec<Vector2<F>>, PatternError> {
        let sized = |what, size: Length| {
            if size.mm() > 0.0 {
                Ok(size.mm())
            } else {
                Err(PatternError::Size { what, size })
            }
        };
        let counted = |count| {
            if (1..=MOST).contains(&count) {
                Ok(count)
            } else {
                Err(PatternError::Count(count))
            }
        };
        match self {
            Self::Single => Ok(vec![Vector2::ZERO]),
            Self::Row { count, pitch } => {
                let (n, step) = (counted(count)?, sized("a pitch", pitch)?);
                let half = f64::from(n - 1) / 2.0;
                Ok((0..n)
                    .map(|k| Vector2::from_mm((f64::from(k) - half) * step, 0.0))
                    .collect())
            }
            Self::BoltCircle {
                count,
                diameter,
                first,
            } => {
                let (n, d) = (counted(count)?, sized("a circle", diameter)?);
                Ok((0..n)
                    .map(|k| {
                        let turn =
                            first.rad() + core::f64::consts::TAU * f64::from(k) / f64::from(n);
                        Vector2::from_mm(d / 2.0, 0.0).turned(turn)
                    })
                    .collect())
            }
            Self::Rectangle { across, up } => {
                let (w, h) = (
                    sized("a width", across)? / 2.0,
                    sized("a height", up)? / 2.0,
                );
                Ok([(-w, -h), (w, -h), (w, h), (-w, h)]
                    .map(|(x, y)| Vector2::from_mm(x, y))
                    .to_vec())
            }
        }
    }
}

/// Evenly spaced along an edge or path: as few holes as keep the pitch, ends at their distance.
///
/// Spacing is along the path, not straight from hole to hole.
///
/// # Errors
/// [`PatternError`] where the ends leave nothing, or the pitch is none.
pub fn evenly_along<F: Frame>(
    path: &[Point2<F>],
    ends: (Length, Length),
    greatest_pitch: Length,
) -> Result<Vec<Point2<F>>, PatternError> {
    if greatest_pitch.mm() <= 0.0 {
        return Err(PatternError::Size {
            what: "a greatest pitch",
            size: greatest_pitch,
        });
    }
    let length: f64 = path.windows(2).map(|w| w[0].distance(w[1]).mm()).sum();
    let (start, end) = (ends.0.mm().max(0.0), ends.1.mm().max(0.0));
    let room = length - start - end;
    if room <= 1e-9 {
        return Err(PatternError::NoRoom {
            length_mm: length,
            ends_mm: start + end,
        });
    }
    let steps = libm::ceil(room / greatest_pitch.mm() - 1e-9).max(1.0);
    if steps >= f64::from(MOST) {
        return Err(PatternError::Count(MOST + 1));
    }
    let mut out = Vec::new();
    let mut k = 0.0;
    while k <= steps {
        out.extend(along(path, start + room * k / steps));
        k += 1.0;
    }
    Ok(out)
}

fn along<F: Frame>(path: &[Point2<F>], at_mm: f64) -> Option<Point2<F>> {
    let mut left = at_mm;
    for w in path.windows(2) {
        let step = w[0].distance(w[1]).mm();
        if left <= step && step > 0.0 {
            return Some(w[0].lerp(w[1], left / step));
        }
        left -= step;
    }
    path.last().copied()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::frames::Flat;

    const fn mm(x: f64) -> Length {
        Length::from_mm(x)
    }
    const fn p(x: f64, y: f64) -> Point2<Flat> {
        Point2::from_mm(x, y)
    }

    #[track_caller]
    fn near(got: (f64, f64), want: (f64, f64), within: f64) {
        let off = libm::hypot(got.0 - want.0, got.1 - want.1);
        assert!(off <= within, "{got:?} instead of {want:?}");
    }

    #[test]
    fn bolt_circles_as_in_the_handbook() {
        // CHECKS I4, I5 (Machinery's Handbook, type A): anticlockwise from the top, origin at the
        // upper left, y down, diameter 1.
        let five = [
            (0.5, 0.0),
            (0.024_47, 0.345_49),
            (0.206_11, 0.904_51),
            (0.793_89, 0.904_51),
            (0.975_53, 0.345_49),
        ];
        let seven = [
            (0.5, 0.0),
            (0.109_08, 0.188_26),
            (0.012_54, 0.611_26),
            (0.283_06, 0.950_48),
            (0.716_94, 0.950_48),
            (0.987_46, 0.611_26),
            (0.890_92, 0.188_26),
        ];
        for (count, want) in [(5, five.as_slice()), (7, seven.as_slice())] {
            let circle = Pattern::BoltCircle {
                count,
                diameter: mm(1.0),
                first: Angle::from_deg(90.0),
            };
            let got = circle.places::<Flat>().unwrap_or_default();
            assert_eq!(got.len(), want.len());
            for (g, w) in got.iter().zip(want) {
                // Two coordinates printed to five places: √2 half units of the last.
                near((0.5 + g.x_mm(), 0.5 - g.y_mm()), *w, 7.1e-6);
            }
        }
    }

    #[test]
    fn even_spacing_runs_along_the_path() {
        // CHECKS I6 (shapely LineString.interpolate): 19 long, 5 points.
        let path = [p(0.0, 0.0), p(3.0, 4.0), p(3.0, 10.0), p(11.0, 10.0)];
        let got = evenly_along(&path, (mm(0.0), mm(0.0)), mm(4.75)).unwrap_or_default();
        let want = [
            (0.0, 0.0),
            (2.85, 3.8),
            (3.0, 8.5),
            (6.25, 10.0),
            (11.0, 10.0),
        ];
        assert_eq!(got.len(), want.len());
        for (g, w) in got.iter().zip(want) {
            near((g.x_mm(), g.y_mm()), w, 1e-9);
        }
        // A little less pitch takes one more.
        assert_eq!(
            evenly_along(&path, (mm(0.0), mm(0.0)), mm(4.7)).map(|v| v.len()),
            Ok(6)
        );
        assert!(evenly_along(&path, (mm(10.0), mm(10.0)), mm(4.7)).is_err());
    }

    #[test]
    fn a_pattern_has_its_middle_in_the_middle() {
        for pattern in [
            Pattern::Row {
                count: 5,
                pitch: mm(40.0),
            },
            Pattern::Rectangle {
                across: mm(120.0),
                up: mm(80.0),
            },
            Pattern::BoltCircle {
                count: 6,
                diameter: mm(90.0),
                first: Angle::ZERO,
            },
        ] {
            let places = pattern.places::<Flat>().unwrap_or_default();
            let sum = places.iter().fold(Vector2::ZERO, |s, v| s + *v);
            assert!(!places.is_empty() && sum.norm_mm() < 1e-9, "{pattern:?}");
        }
        assert!(
            Pattern::Row {
                count: 0,
                pitch: mm(1.0)
            }
            .places::<Flat>()
            .is_err()
        );
    }
}
