//! What is not held, in words: *free to slide along the ridge*.

use super::seating::Seating;
use crate::frames::{Base, Point3, Vector3};
use crate::num::small::right_singular;
use core::fmt;

/// What directions and points of a base are called.
#[derive(Debug, Clone, PartialEq)]
pub struct Names {
    /// Directions as they follow *slide* and *a line*: *along the ridge*.
    pub directions: Vec<(String, Vector3<Base>)>,
    /// Points.
    pub points: Vec<(String, Point3<Base>)>,
}

impl Names {
    /// Up and down, from side to side, from front to back.
    #[must_use]
    pub fn usual() -> Self {
        let along = |name: &str, x, y, z| (name.to_owned(), Vector3::from_mm(x, y, z));
        Self {
            directions: vec![
                along("up and down", 0.0, 0.0, 1.0),
                along("from side to side", 1.0, 0.0, 0.0),
                along("from front to back", 0.0, 1.0, 0.0),
            ],
            points: Vec::new(),
        }
    }
}

/// One way the figure is free to move.
#[derive(Debug, Clone, PartialEq)]
pub enum Freedom {
    /// It slides.
    Slide {
        /// The nearest named direction.
        along: String,
        /// How far off that direction, degrees.
        off_deg: f64,
    },
    /// It turns.
    Turn {
        /// The nearest named direction of the line it turns about.
        about: String,
        /// How far off that direction, degrees.
        off_deg: f64,
        /// A point of that line.
        at: Point3<Base>,
        /// The named points on it.
        through: Vec<String>,
    },
    /// It turns and slides at once, like a screw.
    Screw {
        /// The nearest named direction.
        along: String,
        /// How far off that direction, degrees.
        off_deg: f64,
    },
}

impl fmt::Display for Freedom {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let nearly = |off: &f64| if *off > 10.0 { "roughly " } else { "" };
        match self {
            Self::Slide { along, off_deg } => {
                write!(f, "free to slide {}{along}", nearly(off_deg))
            }
            Self::Turn {
                about,
                off_deg,
                through,
                ..
            } => {
                write!(f, "free to turn about a line {}{about}", nearly(off_deg))?;
                if through.is_empty() {
                    Ok(())
                } else {
                    write!(f, " through {}", through.join(" and "))
                }
            }
            Self::Screw { along, off_deg } => {
                write!(
                    f,
                    "free to turn and slide at once {}{along}",
                    nearly(off_deg)
                )
            }
        }
    }
}

/// A way under this much turn for its shift is a slide.
const SLIDES: f64 = 0.05;
/// A turn that carries its line along itself by more than this share is a screw.
const SCREWS: f64 = 0.1;
/// Another name must be this much nearer (in cosine) than one that comes before it.
const NEARER: f64 = 0.015;
/// A named point is on the line within this, mm.
const ON_LINE_MM: f64 = 2.0;

pub(super) fn freedoms(seating: &Seating, names: &Names) -> Vec<Freedom> {
    let loose: Vec<&[f64; 6]> = seating
        .modes
        .iter()
        .filter(|m| !m.held)
        .map(|m| &m.way)
        .collect();
    if loose.is_empty() {
        return Vec::new();
    }
    // Loose ways, mixed so that those which do not turn come first.
    let turns: Vec<Vec<f64>> = loose.iter().map(|w| w[3..].to_vec()).collect();
    let mixed: Vec<(f64, [f64; 6])> = right_singular(&turns)
        .into_iter()
        .map(|(turn, mix)| {
            let mut way = [0.0; 6];
            for (share, w) in mix.iter().zip(&loose) {
                for k in 0..6 {
                    way[k] += share * w[k];
                }
            }
            (turn, way)
        })
        .collect();
    let (slides, turns): (Vec<_>, Vec<_>) = mixed.into_iter().partition(|(turn, _)| *turn < SLIDES);
    let sliding: Vec<Vector3<Base>> = orthonormal(slides.iter().map(|(_, w)| shift(w)));
    let mut found: Vec<Freedom> = named(sliding.clone(), names)
        .into_iter()
        .map(|(along, off_deg, _)| Freedom::Slide { along, off_deg })
        .collect();
    let axes = orthonormal(turns.iter().map(|(_, w)| turn(w)));
    for (about, off_deg, axis) in named(axes, names) {
        // The loose way that turns just about this axis; its shift beside the slides is what counts.
        let mut carried = Vector3::from_mm(0.0, 0.0, 0.0);
        for (size, way) in &turns {
            carried = carried + shift(way) * (turn(way).dot(axis) / (size * size));
        }
        for slide in &sliding {
            carried = carried + *slide * -slide.dot(carried);
        }
        if carried.dot(axis).abs() > SCREWS {
            found.push(Freedom::Screw {
                along: about,
                off_deg,
            });
            continue;
        }
        let at = seating.centre + axis.cross(carried) * seating.rho;
        let off = |p: Point3<Base>| (p - at).cross(axis).norm().mm();
        let on_line = names.points.iter().filter(|(_, p)| off(*p) < ON_LINE_MM);
        found.push(Freedom::Turn {
            about,
            off_deg,
            at,
            through: on_line.map(|(name, _)| name.clone()).collect(),
        });
    }
    found
}

fn shift(way: &[f64; 6]) -> Vector3<Base> {
    Vector3::from_mm(way[0], way[1], way[2])
}

fn turn(way: &[f64; 6]) -> Vector3<Base> {
    Vector3::from_mm(way[3], way[4], way[5])
}

fn orthonormal(vectors: impl Iterator<Item = Vector3<Base>>) -> Vec<Vector3<Base>> {
    let mut basis: Vec<Vector3<Base>> = Vec::new();
    for mut v in vectors {
        for b in &basis {
            v = v + *b * -b.dot(v);
        }
        if v.norm().mm() > 1e-6 {
            basis.extend(v.unit());
        }
    }
    basis
}

/// Directions that span the same, each as near as can be to one that has a name.
fn named(mut basis: Vec<Vector3<Base>>, names: &Names) -> Vec<(String, f64, Vector3<Base>)> {
    let mut out: Vec<(String, f64, Vector3<Base>)> = Vec::new();
    while !basis.is_empty() {
        let mut best: Option<(f64, &str, Vector3<Base>)> = None;
        for (name, direction) in &names.directions {
            let Some(d) = direction.unit() else { continue };
            let mut inside = Vector3::from_mm(0.0, 0.0, 0.0);
            for b in &basis {
                inside = inside + *b * b.dot(d);
            }
            let size = inside.norm().mm();
            let taken = out.iter().any(|(n, ..)| n == name);
            if let (false, Some(unit)) = (taken, inside.unit())
                && best.as_ref().is_none_or(|b| size > b.0 + NEARER)
            {
                best = Some((size, name, unit));
            }
        }
        let (size, name, direction) = best.unwrap_or((0.0, "some way", basis[0]));
        out.push((
            name.to_owned(),
            libm::acos(size.min(1.0)).to_degrees(),
            direction,
        ));
        let rest = basis.len() - 1;
        let mut left: Vec<Vector3<Base>> = basis
            .iter()
            .map(|b| *b + direction * -direction.dot(*b))
            .collect();
        left.sort_by(|a, b| b.norm().mm().total_cmp(&a.norm().mm()));
        basis = orthonormal(left.into_iter());
        basis.truncate(rest);
    }
    out
}
