//! Rules, and the target they give on any ground.

use super::dual::{Dual, Real, jacobian};
use super::edge::{Edge, edge_of, edges_of};
use super::error::PlaceError;
use super::ground::{Ground, Place, Stand, add, constant, cross, dot, sub, times, values};
use nalgebra::{Matrix3, Matrix4, Vector3 as Column3, Vector4 as Column4};

/// How a feature follows the distance between two marks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Follow {
    /// The nominal distance from the first mark.
    FixedDistance,
    /// Half of any difference at either end.
    DifferenceSplit,
    /// The nominal share of the distance as it is here.
    InProportion,
}

impl Follow {
    /// How far along its line it goes, from how far on the drawing and the line's lengths there and here.
    fn goes<T: Real>(self, along: T, [nominal, here]: [T; 2]) -> T {
        match self {
            Self::FixedDistance => along,
            Self::DifferenceSplit => along + T::of(0.5) * (here - nominal),
            Self::InProportion => along * here / nominal,
        }
    }
}

/// How a feature follows its datum marks. Numbers are places in the list of marks.
#[derive(Debug, Clone, PartialEq)]
pub enum Rule {
    /// Along and across the line between two marks; its turn is kept to that line.
    Line {
        /// From this mark.
        from: usize,
        /// To this one.
        to: usize,
        /// A third mark that says which side is which.
        side: Option<usize>,
        /// Along the line.
        along: Follow,
        /// A pair of its own that *across* is in proportion to.
        across: Option<(usize, usize)>,
    },
    /// Rigid least squares over several marks, without reflection.
    BestFit {
        /// Two marks whose line the feature's nominal turn is given against.
        line: (usize, usize),
        /// A weight for each mark of the list; zero leaves it out.
        weights: Vec<f64>,
        /// Size follows too.
        scale: bool,
    },
    /// By the drawing's square distances from two edges, its turn kept to the first. An edge is the
    /// line from where both meet through another point of it.
    Edges {
        /// Where both meet.
        corner: usize,
        /// Further along the first.
        along: usize,
        /// Further along the second.
        end: usize,
        /// Which of the two go round a cone: there they bend about its tip.
        round: [bool; 2],
    },
    /// Along the line between two marks, and by the drawing's square distance from an edge; its turn is
    /// kept to the line. The edge runs through two points of it.
    OffEdge {
        /// From this mark.
        from: usize,
        /// To this one.
        to: usize,
        /// Along the line.
        along: Follow,
        /// A point of the edge.
        on_edge: usize,
        /// Another.
        further: usize,
        /// It goes round a cone.
        round: bool,
    },
}

impl Rule {
    /// The two marks whose line the feature's turn is given against.
    #[must_use]
    pub const fn line(&self) -> (usize, usize) {
        match self {
            Self::Line { from, to, .. } | Self::OffEdge { from, to, .. } => (*from, *to),
            Self::BestFit { line, .. } => *line,
            Self::Edges { corner, along, .. } => (*corner, *along),
        }
    }
}

/// Marks of one casting (or of the drawing) on their ground.
pub(super) struct Spread<'a, T> {
    pub(super) ground: Ground<'a, T>,
    pub(super) marks: Vec<Place<T>>,
}

impl<T: Real> Spread<'_, T> {
    pub(super) fn mark(&self, k: usize) -> Place<T> {
        self.marks.get(k).copied().unwrap_or([T::of(0.0); 3])
    }
    pub(super) fn line(&self, (from, to): (usize, usize)) -> Result<Stand<T>, PlaceError> {
        self.ground.look(self.mark(from), self.mark(to))
    }
    fn length(&self, (from, to): (usize, usize)) -> Result<T, PlaceError> {
        self.ground.distance(self.mark(from), self.mark(to))
    }
}

/// The target on a casting: where the feature stands (its *across* along, its *up* to the left)
/// and how much its size follows.
pub(super) struct Target<T> {
    pub(super) stand: Stand<T>,
    pub(super) scale: T,
}

/// The feature's stand on the drawing itself.
pub(super) fn on_drawing<T: Real>(
    rule: &Rule,
    turn: f64,
    drawing: &Spread<'_, T>,
    centre: Place<T>,
) -> Result<Stand<T>, PlaceError> {
    if let Some([edge, _]) = edges_of(rule, drawing)? {
        let stand = edge.stand(centre);
        return Ok(drawing.ground.turned(&stand, T::of(turn)));
    }
    let line = drawing.line(rule.line())?;
    let [along, left] = drawing.ground.offsets(&line, centre)?;
    let there = drawing
        .ground
        .sideways(&drawing.ground.ahead(&line, along), left);
    Ok(drawing.ground.turned(&there, T::of(turn)))
}

/// Applies the rule.
pub(super) fn target<T: Real>(
    rule: &Rule,
    turn: f64,
    drawing: &Spread<'_, T>,
    centre: Place<T>,
    casting: &Spread<'_, T>,
) -> Result<Target<T>, PlaceError> {
    match rule {
        Rule::Line {
            from,
            to,
            along,
            across,
            ..
        } => {
            let pair = (*from, *to);
            let line = drawing.line(pair)?;
            let [nominal_along, nominal_left] = drawing.ground.offsets(&line, centre)?;
            let lengths = [drawing.length(pair)?, casting.length(pair)?];
            let goes = along.goes(nominal_along, lengths);
            let left = match across {
                None => nominal_left,
                Some(own) => {
                    let nominal_width = drawing.length(*own)?;
                    if nominal_width.value() < 1.0 {
                        return Err(PlaceError::MarksTooClose);
                    }
                    nominal_left * casting.length(*own)? / nominal_width
                }
            };
            let here = casting.line(pair)?;
            let stand = casting
                .ground
                .sideways(&casting.ground.ahead(&here, goes), left);
            Ok(Target {
                stand: casting.ground.turned(&stand, T::of(turn)),
                scale: T::of(1.0),
            })
        }
        Rule::OffEdge {
            from, to, along, ..
        } => {
            let pair = (*from, *to);
            let line = drawing.line(pair)?;
            let [nominal_along, _] = drawing.ground.offsets(&line, centre)?;
            let lengths = [drawing.length(pair)?, casting.length(pair)?];
            let edge = |on| edge_of(rule, on)?.ok_or(PlaceError::EdgesBend);
            let off = edge(drawing)?.off(centre);
            let here = casting.line(pair)?;
            let foot = (casting.ground).ahead(&here, along.goes(nominal_along, lengths));
            // Square to the line at the foot, as far up as the edge says.
            let upright = Edge::Straight {
                at: foot.at,
                left: here.along,
            };
            let stand = Stand {
                at: upright.meets([T::of(0.0), off], &edge(casting)?)?,
                along: here.along,
            };
            Ok(Target {
                stand: casting.ground.turned(&stand, T::of(turn)),
                scale: T::of(1.0),
            })
        }
        Rule::Edges { .. } => {
            let edges = |on| edges_of(rule, on)?.ok_or(PlaceError::EdgesBend);
            let [by_edge, by_end] = edges(drawing)?.map(|edge| edge.off(centre));
            let [edge, end] = edges(casting)?;
            let stand = edge.stand(edge.meets([by_edge, by_end], &end)?);
            Ok(Target {
                stand: casting.ground.turned(&stand, T::of(turn)),
                scale: T::of(1.0),
            })
        }
        Rule::BestFit { weights, scale, .. } => {
            let at_home = on_drawing(rule, turn, drawing, centre)?;
            let seen: Vec<[T; 2]> = drawing
                .marks
                .iter()
                .map(|&m| drawing.ground.seen(&at_home, m))
                .collect::<Result<_, _>>()?;
            fit(rule, &seen, weights, *scale, casting)
        }
    }
}

/// The weighted marks of a best fit, the heaviest with a weight of one, or why there are too few.
fn used(weights: &[f64], marks: usize) -> Result<Vec<(usize, f64)>, PlaceError> {
    let heaviest = weights.iter().take(marks).copied().fold(0.0, f64::max);
    let used: Vec<_> = weights
        .iter()
        .map(|w| w / heaviest)
        .enumerate()
        .take(marks)
        .filter(|(_, w)| *w > 0.0)
        .collect();
    if used.len() < 2 {
        Err(PlaceError::TooFewMarks)
    } else {
        Ok(used)
    }
}

fn fit<T: Real>(
    rule: &Rule,
    seen: &[[T; 2]],
    weights: &[f64],
    scale: bool,
    casting: &Spread<'_, T>,
) -> Result<Target<T>, PlaceError> {
    let used = used(weights, casting.marks.len().min(seen.len()))?;
    match casting.ground {
        Ground::Plane | Ground::Sector { .. } => fit_plane(&used, seen, scale, casting),
        Ground::Walked { .. } => fit_walked(rule, &used, seen, scale, casting),
        Ground::Sphere { .. } => fit_sphere(rule, &used, seen, scale, casting),
    }
}

/// Rigid (or similar) least squares in the plane in closed form (Umeyama 1991, IEEE TPAMI
/// 13:376): only turns are tried, so a mirrored set of marks is never mirrored back.
fn fit_plane<T: Real>(
    used: &[(usize, f64)],
    seen: &[[T; 2]],
    scale: bool,
    casting: &Spread<'_, T>,
) -> Result<Target<T>, PlaceError> {
    let total: f64 = used.iter().map(|(_, w)| w).sum();
    let zero = T::of(0.0);
    let (mut g_mean, mut m_mean) = ([zero; 2], [zero; 2]);
    for &(k, w) in used {
        let share = T::of(w / total);
        for i in 0..2 {
            g_mean[i] = g_mean[i] + seen[k][i] * share;
            m_mean[i] = m_mean[i] + casting.marks[k][i] * share;
        }
    }
    let (mut same, mut square, mut size) = (zero, zero, zero);
    for &(k, w) in used {
        let w = T::of(w);
        let g = [seen[k][0] - g_mean[0], seen[k][1] - g_mean[1]];
        let m = [
            casting.marks[k][0] - m_mean[0],
            casting.marks[k][1] - m_mean[1],
        ];
        same = same + w * (g[0] * m[0] + g[1] * m[1]);
        square = square + w * (g[0] * m[1] - g[1] * m[0]);
        size = size + w * (g[0] * g[0] + g[1] * g[1]);
    }
    let strength = (same * same + square * square).sqrt();
    // Marks within a millimetre of each other give no direction.
    if strength.value() < 1.0 || size.value() < 1.0 {
        return Err(PlaceError::NoDirection);
    }
    let (c, s) = (same / strength, square / strength);
    let factor = if scale { strength / size } else { T::of(1.0) };
    let (gx, gy) = (g_mean[0] * factor, g_mean[1] * factor);
    let at = [
        m_mean[0] - (c * gx - s * gy),
        m_mean[1] - (s * gx + c * gy),
        zero,
    ];
    Ok(Target {
        stand: Stand {
            at,
            along: [c, s, zero],
        },
        scale: factor,
    })
}

/// The stand from which the marks, as seen over the surface, balance about the drawing's:
/// Σ w·(seen − f·drawn) = 0 and Σ w·drawn × seen = 0, in a plane the rigid least squares itself;
/// with *size follows* also Σ w·drawn · (seen − f·drawn) = 0. By Newton's method with exact slopes,
/// and a last step in numbers that carry derivatives.
fn fit_walked<T: Real>(
    rule: &Rule,
    used: &[(usize, f64)],
    seen: &[[T; 2]],
    scale: bool,
    casting: &Spread<'_, T>,
) -> Result<Target<T>, PlaceError> {
    let Ground::Walked { face } = casting.ground else {
        return Err(PlaceError::NotSettled);
    };
    let plain = Spread {
        ground: Ground::Walked {
            face: face.constant(),
        },
        marks: casting.marks.iter().map(|&m| values(m)).collect(),
    };
    let drawn: Vec<[f64; 2]> = seen.iter().map(|g| g.map(T::value)).collect();
    let mut stand = start_by_line(rule, &drawn, &plain)?;
    let mut factor = 1.0;
    let dual = Spread {
        ground: Ground::Walked {
            face: face.constant(),
        },
        marks: plain.marks.iter().map(|&m| constant(m)).collect(),
    };
    let drawn_dual: Vec<[Dual; 2]> = drawn.iter().map(|g| g.map(Dual::of)).collect();
    for _ in 0..MOST_STEPS {
        let rows = jacobian::<4, PlaceError>(&[0.0, 0.0, 0.0, factor], |x| {
            let here = nudged(&dual.ground, &stand, [x[0], x[1], x[2]]);
            unbalance(&dual, used, &drawn_dual, &here, x[3], scale)
        })?;
        let misses = unbalance(&plain, used, &drawn, &stand, factor, scale)?;
        let slopes = Matrix4::from_fn(|r, c| rows[r][c]);
        let inverse = slopes.try_inverse().ok_or(PlaceError::NoDirection)?;
        let step = -(inverse * Column4::from(misses));
        if !step.iter().all(|x| x.is_finite()) {
            return Err(PlaceError::NoDirection);
        }
        stand = nudged(&plain.ground, &stand, [step[0], step[1], step[2]]);
        factor += step[3];
        if step[0].abs() + step[1].abs() < 1e-9 && step[2].abs() < 1e-12 {
            let fixed = Stand {
                at: constant(stand.at),
                along: constant(stand.along),
            };
            let misses = unbalance(casting, used, seen, &fixed, T::of(factor), scale)?;
            let by = |r: usize| {
                (0..4).fold(T::of(0.0), |sum, c| {
                    sum - misses[c] * T::of(inverse[(r, c)])
                })
            };
            return Ok(Target {
                stand: nudged(&casting.ground, &stand, [by(0), by(1), by(2)]),
                scale: T::of(factor) + by(3),
            });
        }
    }
    Err(PlaceError::NotSettled)
}

/// The line of the rule laid on the casting's, from its first mark.
fn start_by_line(
    rule: &Rule,
    drawn: &[[f64; 2]],
    casting: &Spread<f64>,
) -> Result<Stand<f64>, PlaceError> {
    let (from, to) = rule.line();
    let pick = |k: usize| drawn.get(k).copied().unwrap_or([0.0; 2]);
    let ([ax, ay], [bx, by]) = (pick(from), pick(to));
    let look = casting.line((from, to))?;
    let first = casting.ground.turned(&look, -libm::atan2(by - ay, bx - ax));
    let sideways = casting.ground.sideways(&first, -ay);
    Ok(casting.ground.ahead(&sideways, -ax))
}

/// A stand moved a little ahead, to its left, and turned.
fn nudged<T: Real>(ground: &Ground<'_, T>, from: &Stand<f64>, [x, y, turn]: [T; 3]) -> Stand<T> {
    let from = Stand {
        at: constant(from.at),
        along: constant(from.along),
    };
    ground.turned(&ground.sideways(&ground.ahead(&from, x), y), turn)
}

fn unbalance<T: Real>(
    casting: &Spread<'_, T>,
    used: &[(usize, f64)],
    drawn: &[[T; 2]],
    stand: &Stand<T>,
    factor: T,
    scale: bool,
) -> Result<[T; 4], PlaceError> {
    let mut out = [T::of(0.0); 4];
    for &(k, w) in used {
        let w = T::of(w);
        let [x, y] = casting.ground.seen(stand, casting.mark(k))?;
        let [gx, gy] = drawn[k];
        let off = [x - factor * gx, y - factor * gy];
        out[0] = out[0] + w * off[0];
        out[1] = out[1] + w * off[1];
        out[2] = out[2] + w * (gx * y - gy * x);
        out[3] = out[3] + w * (gx * off[0] + gy * off[1]);
    }
    if !scale {
        out[3] = factor - T::of(1.0);
    }
    Ok(out)
}

/// Steps of Newton's method on the sphere; from a start by two marks it needs three or four.
const MOST_STEPS: usize = 30;

/// Rigid least squares on the sphere: the turn about its centre that brings the nominal marks
/// nearest, by chords (Wahba 1965, SIAM Review 7:409), by Newton's method with the exact second
/// derivative. A last step in numbers that carry derivatives makes those exact.
fn fit_sphere<T: Real>(
    rule: &Rule,
    used: &[(usize, f64)],
    seen: &[[T; 2]],
    scale: bool,
    casting: &Spread<'_, T>,
) -> Result<Target<T>, PlaceError> {
    let ground = &casting.ground;
    let one = T::of(1.0);
    let zero = T::of(0.0);
    let home = Stand {
        at: [zero, zero, one],
        along: [one, zero, zero],
    };
    let flat = |factor: T| -> Vec<Place<T>> {
        seen.iter()
            .map(|g| ground.stretch_out(&home, [g[0] * factor, g[1] * factor]))
            .collect()
    };
    let mut factor = one;
    let mut body = flat(factor);
    if scale {
        let spread = |places: &[Place<T>]| -> Result<T, PlaceError> {
            let mut sum = zero;
            for (i, &(a, wa)) in used.iter().enumerate() {
                for &(b, wb) in &used[i + 1..] {
                    let d = ground.distance(places[a], places[b])?;
                    sum = sum + T::of(wa * wb) * d * d;
                }
            }
            Ok(sum)
        };
        factor = (spread(&casting.marks)? / spread(&body)?).sqrt();
        body = flat(factor);
    }
    let body_values: Vec<_> = body.iter().map(|&b| values(b)).collect();
    let mark_values: Vec<_> = casting.marks.iter().map(|&m| values(m)).collect();

    // Start: carry the drawing's line onto the casting's.
    let (from, to) = rule.line();
    let start = {
        let look = |a: Place<f64>, b: Place<f64>| {
            let left = cross(a, b);
            let n = libm::sqrt(dot(left, left));
            if n < 1e-9 {
                Err(PlaceError::MarksTooClose)
            } else {
                Ok(left.map(|x| x / n))
            }
        };
        let pick = |list: &[Place<f64>], k: usize| list.get(k).copied().unwrap_or([0.0, 0.0, 1.0]);
        let (ba, bb) = (pick(&body_values, from), pick(&body_values, to));
        let (ma, mb) = (pick(&mark_values, from), pick(&mark_values, to));
        let frame = |a: Place<f64>, left: Place<f64>| {
            let along = cross(left, a);
            Matrix3::from_columns(&[Column3::from(along), Column3::from(left), Column3::from(a)])
        };
        frame(ma, look(ma, mb)?) * frame(ba, look(ba, bb)?).transpose()
    };
    let mut turn = start;
    let mut inverse = None;
    for _ in 0..MOST_STEPS {
        let (mut gradient, mut hessian) = (Column3::zeros(), Matrix3::zeros());
        for &(k, w) in used {
            let rb = turn * Column3::from(body_values[k]);
            let m = Column3::from(mark_values[k]);
            gradient += rb.cross(&m) * w;
            let outer = rb * m.transpose();
            hessian += ((outer + outer.transpose()) * 0.5 - Matrix3::identity() * rb.dot(&m)) * w;
        }
        let inv = hessian.try_inverse().ok_or(PlaceError::NoDirection)?;
        let step = -(inv * gradient);
        inverse = Some(inv);
        turn = small_turn(step) * turn;
        if step.norm() < 1e-13 {
            break;
        }
    }
    let inverse = inverse.ok_or(PlaceError::NotSettled)?;
    // The same last step with derivatives carried: its value is zero, its slopes are exact.
    let mut gradient = [zero; 3];
    let columns: [Place<T>; 3] =
        core::array::from_fn(|c| constant(turn.column(c).into_owned().into()));
    for &(k, w) in used {
        let b = body[k];
        let rb = add(
            add(times(columns[0], b[0]), times(columns[1], b[1])),
            times(columns[2], b[2]),
        );
        gradient = add(gradient, times(cross(rb, casting.marks[k]), T::of(w)));
    }
    let omega: Place<T> = core::array::from_fn(|r| {
        -(gradient[0] * T::of(inverse[(r, 0)])
            + gradient[1] * T::of(inverse[(r, 1)])
            + gradient[2] * T::of(inverse[(r, 2)]))
    });
    let moved = |v: Place<T>| add(v, cross(omega, v));
    Ok(Target {
        stand: Stand {
            at: moved(columns[2]),
            along: moved(columns[0]),
        },
        scale: factor,
    })
}

fn small_turn(w: Column3<f64>) -> Matrix3<f64> {
    let q = w.dot(&w);
    let (s, c2) = (q.sinc_of_square(), (q / 4.0).sinc_of_square());
    let k = Matrix3::new(0.0, -w.z, w.y, w.z, 0.0, -w.x, -w.y, w.x, 0.0);
    Matrix3::identity() + k * s + k * k * (0.5 * c2 * c2)
}

/// The offset of the side mark from the line, on the drawing and on the casting, with the
/// latter's derivatives.
pub(super) fn side_offset<T: Real>(
    spread: &Spread<'_, T>,
    line: (usize, usize),
    side: usize,
) -> Result<T, PlaceError> {
    let stand = spread.line(line)?;
    Ok(spread.ground.offsets(&stand, spread.mark(side))?[1])
}

/// How far a target has moved in its own axes at the plain solution: across, up (mm) and turn
/// (rad); values are zero, derivatives are those of the target.
pub(super) fn moved(ground: &Ground<'_, f64>, at: &Stand<f64>, target: &Stand<Dual>) -> [Dual; 3] {
    let left = constant::<Dual>(ground.left(at));
    let along = constant::<Dual>(at.along);
    let step = sub(target.at, constant(at.at));
    if let Ground::Walked { face } = ground {
        // The directions that headings are given in turn from place to place, which is no turn over
        // the surface.
        let here = [at.at[0], at.at[1]];
        let spin = face.spin(here).map(Dual::of);
        let turned = step[0] * spin[0] + step[1] * spin[1];
        let [x, y] = face
            .constant()
            .frame(here.map(Dual::of))
            .over(step[0], step[1]);
        let step = [x, y, step[2]];
        return [
            dot(step, along),
            dot(step, left),
            dot(target.along, left) + turned,
        ];
    }
    let size = match ground {
        Ground::Plane | Ground::Sector { .. } | Ground::Walked { .. } => Dual::of(1.0),
        Ground::Sphere { radius } => Dual::of(*radius),
    };
    [
        dot(step, along) * size,
        dot(step, left) * size,
        dot(target.along, left),
    ]
}
