//! Normal, chi-square, Student's t and F: probabilities and quantiles, to 1e-10 or better.
//!
//! Every quantile solves its own distribution function by Newton's method inside a shrinking
//! bracket, so that the two can't disagree.

use super::special::{beta_pq, gamma_pq, ln_gamma};

const ROOT_2: f64 = core::f64::consts::SQRT_2;

/// Φ(z), the standard normal distribution function.
#[must_use]
pub fn normal_below(z: f64) -> f64 {
    0.5 * libm::erfc(-z / ROOT_2)
}

/// The z below which a share `p` (0 < p < 1) of the standard normal lies.
///
/// ```
/// let z = samespot_core::num::distribution::normal_quantile(0.9995);
/// assert!((z - 3.290_526_731).abs() < 1e-9);
/// ```
#[must_use]
pub fn normal_quantile(p: f64) -> f64 {
    let density = |z: f64| 0.398_942_280_401_432_7 * libm::exp(-0.5 * z * z);
    solve(
        p,
        (-40.0, 40.0),
        0.0,
        |z| (normal_below(z), normal_below(-z)),
        density,
    )
}

/// Share of the chi-square distribution with `f` degrees of freedom below and above `x`.
#[must_use]
pub fn chi_square(x: f64, f: f64) -> (f64, f64) {
    gamma_pq(f / 2.0, x / 2.0)
}

/// The value below which a share `p` of chi-square with `f` degrees of freedom lies.
#[must_use]
pub fn chi_square_quantile(p: f64, f: f64) -> f64 {
    let half = f / 2.0;
    let density = |x: f64| {
        if x <= 0.0 {
            return 0.0;
        }
        libm::exp((half - 1.0) * libm::log(x / 2.0) - x / 2.0 - ln_gamma(half)) / 2.0
    };
    let top = f + 40.0 * libm::sqrt(2.0 * f) + 800.0;
    solve(p, (0.0, top), f, |x| chi_square(x, f), density)
}

/// Share of Student's t with `f` degrees of freedom below and above `t`.
#[must_use]
pub fn student(t: f64, f: f64) -> (f64, f64) {
    // From the middle outwards or from the tail inwards, whichever keeps its digits.
    let (_, tail2) = if t * t < f {
        beta_pq(0.5, f / 2.0, t * t / (f + t * t))
    } else {
        let (tail, middle) = beta_pq(f / 2.0, 0.5, f / (f + t * t));
        (middle, tail)
    };
    let (far, near) = (tail2 / 2.0, 1.0 - tail2 / 2.0);
    if t < 0.0 { (far, near) } else { (near, far) }
}

/// The t below which a share `p` of Student's distribution with `f` degrees of freedom lies.
#[must_use]
pub fn student_quantile(p: f64, f: f64) -> f64 {
    let front =
        ln_gamma((f + 1.0) / 2.0) - ln_gamma(f / 2.0) - 0.5 * libm::log(f * core::f64::consts::PI);
    let density = |t: f64| libm::exp(front - (f + 1.0) / 2.0 * libm::log1p(t * t / f));
    let mut top = 50.0;
    while student(top, f).1 > p.min(1.0 - p) && top < 1e300 {
        top *= 10.0;
    }
    solve(p, (-top, top), 0.0, |t| student(t, f), density)
}

/// Share of F with (`f1`, `f2`) degrees of freedom below and above `x`.
#[must_use]
pub fn fisher(x: f64, f1: f64, f2: f64) -> (f64, f64) {
    if x <= 0.0 {
        return (0.0, 1.0);
    }
    beta_pq(f1 / 2.0, f2 / 2.0, f1 * x / (f1 * x + f2))
}

/// The value below which a share `p` of F with (`f1`, `f2`) degrees of freedom lies.
#[must_use]
pub fn fisher_quantile(p: f64, f1: f64, f2: f64) -> f64 {
    let front = ln_gamma((f1 + f2) / 2.0) - ln_gamma(f1 / 2.0) - ln_gamma(f2 / 2.0)
        + f1 / 2.0 * libm::log(f1 / f2);
    let density = |x: f64| {
        if x <= 0.0 {
            return 0.0;
        }
        libm::exp(
            front + (f1 / 2.0 - 1.0) * libm::log(x) - (f1 + f2) / 2.0 * libm::log1p(f1 * x / f2),
        )
    };
    let mut top = 10.0;
    while fisher(top, f1, f2).1 > (1.0 - p).max(1e-300) && top < 1e300 {
        top *= 10.0;
    }
    solve(
        p,
        (0.0, top),
        1.0_f64.min(top / 2.0),
        |x| fisher(x, f1, f2),
        density,
    )
}

/// Critical value of Pope's τ for `f` degrees of freedom at a two-sided error probability
/// `alpha`: t·√f / √(f − 1 + t²), t with f − 1 degrees (Pope 1976, NOAA Tech. Rep. NOS 65 NGS 1).
///
/// `None` below two degrees of freedom, where τ is always one and nothing can be tested.
#[must_use]
pub fn tau_critical(alpha: f64, f: f64) -> Option<f64> {
    if f < 2.0 {
        return None;
    }
    let t = student_quantile(1.0 - alpha / 2.0, f - 1.0);
    Some(t * libm::sqrt(f) / libm::sqrt(f - 1.0 + t * t))
}

/// √λ₀: the shift in standard deviations that a two-sided test at `alpha` finds with `power`,
/// the far tail neglected as Baarda does (1968, Publ. on Geodesy 2(5)).
#[must_use]
pub fn smallest_found(alpha: f64, power: f64) -> f64 {
    normal_quantile(1.0 - alpha / 2.0) + normal_quantile(power)
}

/// Finds where `shares(x).0 = p`, comparing on the smaller tail so that both keep their digits.
fn solve(
    p: f64,
    bracket: (f64, f64),
    start: f64,
    shares: impl Fn(f64) -> (f64, f64),
    density: impl Fn(f64) -> f64,
) -> f64 {
    let (mut low, mut high) = bracket;
    if p <= 0.0 {
        return low;
    }
    if p >= 1.0 {
        return high;
    }
    let mut x = start;
    // Sixty halvings alone reach 1e-16 of the bracket; Newton needs a handful.
    for _ in 0..200 {
        let (below, above) = shares(x);
        let excess = if p < 0.5 {
            below - p
        } else {
            (1.0 - p) - above
        };
        if excess > 0.0 {
            high = x;
        } else {
            low = x;
        }
        let slope = density(x);
        let newton = x - excess / slope;
        let inside = slope > 0.0 && newton > low && newton < high;
        let next = if inside { newton } else { 0.5 * (low + high) };
        if (next - x).abs() <= 1e-15 * next.abs() || high - low <= 1e-300 {
            return next;
        }
        x = next;
    }
    x
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn near(got: f64, want: f64, tolerance: f64) {
        assert!((got - want).abs() <= tolerance, "{got} instead of {want}");
    }

    #[test]
    fn normal_quantiles_to_twelve_digits() {
        // Abramowitz & Stegun table 26.5 and Wichura 1988 (AS 241) test values.
        near(normal_quantile(0.5), 0.0, 1e-15);
        near(normal_quantile(0.25), -0.674_489_750_196_081_7, 1e-14);
        near(normal_quantile(0.001), -3.090_232_306_167_813, 1e-13);
        near(normal_quantile(1e-20), -9.262_340_089_798_408, 1e-12);
        near(normal_quantile(0.975), 1.959_963_984_540_054, 1e-13);
    }

    #[test]
    fn closed_forms() {
        // Chi-square with two degrees is exponential; t with one is Cauchy; F(2, 2) is x/(1+x).
        for p in [1e-9, 0.05, 0.3, 0.5, 0.95, 0.999_999] {
            near(
                chi_square_quantile(p, 2.0) / (-2.0 * libm::log1p(-p)),
                1.0,
                1e-12,
            );
            // −cot(πp), which keeps its digits in the tail.
            let cauchy = -1.0 / libm::tan(core::f64::consts::PI * p);
            near(
                student_quantile(p, 1.0),
                cauchy,
                1e-10 * cauchy.abs().max(1e-3),
            );
            near(fisher_quantile(p, 2.0, 2.0) / (p / (1.0 - p)), 1.0, 1e-10);
        }
    }

    #[test]
    fn pope_refuses_one_degree_of_freedom() {
        assert_eq!(tau_critical(0.05, 1.0), None);
        near(tau_critical(0.05, 14.0).unwrap_or(0.0), 1.9231, 5e-5);
    }
}
