//! Where two arcs cross in a plane, and where three balls meet in space.

/// Where two arcs about (0, 0) and (d, 0) cross.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Crossing {
    /// At two points, left and right of the line from the first centre to the second.
    Two {
        /// Along the line from the first centre.
        along: f64,
        /// Square off it, to either side.
        aside: f64,
    },
    /// They touch at one point on the line.
    Touch {
        /// Along the line from the first centre.
        along: f64,
    },
    /// They miss each other by so much.
    Apart {
        /// How much the two distances together are short (or, one inside the other, too long).
        by: f64,
    },
}

/// Crosses two arcs of radii `r1`, `r2` whose centres are `d` apart.
///
/// Within `touching` of meeting they are taken to touch: readings that just fail to reach
/// are no contradiction.
#[must_use]
pub fn two_arcs(d: f64, r1: f64, r2: f64, touching: f64) -> Crossing {
    let short = (d - (r1 + r2)).max((r1 - r2).abs() - d);
    if short > touching || d <= 0.0 {
        return Crossing::Apart { by: short.max(0.0) };
    }
    if short.abs() <= touching {
        let along = if d >= r1.max(r2) {
            d * r1 / (r1 + r2)
        } else {
            r1 * (r1 - r2).signum()
        };
        return Crossing::Touch { along };
    }
    let along = 0.5 * (d + (r1 - r2) * (r1 + r2) / d);
    // Heron's product keeps its digits where r1² − along² would cancel (Kahan 2014).
    let product = (r1 + r2 + d) * (r1 + r2 - d) * (d + r1 - r2) * (d - r1 + r2);
    Crossing::Two {
        along,
        aside: libm::sqrt(product.max(0.0)) / (2.0 * d),
    }
}

/// The two points at given distances from three centres, the one on the side of
/// (c₂−c₁)×(c₃−c₁) first; `None` where the balls do not meet or the centres lie on a line.
#[must_use]
pub fn three_balls(centres: [[f64; 3]; 3], radii: [f64; 3]) -> Option<[[f64; 3]; 2]> {
    let minus = |a: [f64; 3], b: [f64; 3]| [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
    let dot = |a: [f64; 3], b: [f64; 3]| a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
    let cross = |a: [f64; 3], b: [f64; 3]| {
        [
            a[1] * b[2] - a[2] * b[1],
            a[2] * b[0] - a[0] * b[2],
            a[0] * b[1] - a[1] * b[0],
        ]
    };
    let (p, q) = (minus(centres[1], centres[0]), minus(centres[2], centres[0]));
    let n = cross(p, q);
    let nn = dot(n, n);
    if nn <= 1e-24 * dot(p, p) * dot(q, q) {
        return None;
    }
    // Foot in the plane of the centres: x·p and x·q are known.
    let half = |v: [f64; 3], r: f64| 0.5 * (dot(v, v) + radii[0] * radii[0] - r * r);
    let (a, b) = (half(p, radii[1]), half(q, radii[2]));
    let (pp, pq, qq) = (dot(p, p), dot(p, q), dot(q, q));
    let det = pp * qq - pq * pq;
    let (s, t) = ((a * qq - b * pq) / det, (b * pp - a * pq) / det);
    let foot: [f64; 3] = core::array::from_fn(|k| s * p[k] + t * q[k]);
    let rest = radii[0] * radii[0] - dot(foot, foot);
    if rest < 0.0 {
        return None;
    }
    let h = libm::sqrt(rest / nn);
    Some(
        [1.0, -1.0].map(|sign| core::array::from_fn(|k| centres[0][k] + foot[k] + sign * h * n[k])),
    )
}
