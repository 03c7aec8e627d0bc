//! Incomplete gamma and beta functions, to about 1e-14 of their value.

/// Terms before a series or fraction is given up; none needs more than a few hundred below
/// a million degrees of freedom.
const MOST_TERMS: usize = 100_000;

/// ln Γ(x) for x > 0.
pub(crate) fn ln_gamma(x: f64) -> f64 {
    libm::lgamma(x)
}

/// Regularised incomplete gamma functions (P, Q) at a > 0, x ≥ 0: series below a + 1,
/// continued fraction (Lentz) above. DLMF 8.11.4 and 8.9.2.
pub(crate) fn gamma_pq(a: f64, x: f64) -> (f64, f64) {
    if x <= 0.0 {
        return (0.0, 1.0);
    }
    let front = libm::exp(a * libm::log(x) - x - ln_gamma(a));
    if x < a + 1.0 {
        let (mut term, mut sum) = (1.0 / a, 1.0 / a);
        for k in 1..MOST_TERMS {
            term *= x / (a + k as f64);
            sum += term;
            if term < sum * 1e-17 {
                break;
            }
        }
        let p = (front * sum).min(1.0);
        (p, 1.0 - p)
    } else {
        let mut b = x + 1.0 - a;
        let mut c = 1e300;
        let mut d = 1.0 / b;
        let mut h = d;
        for k in 1..MOST_TERMS {
            let k = k as f64;
            let an = -k * (k - a);
            b += 2.0;
            d = 1.0 / nonzero(an * d + b);
            c = nonzero(b + an / c);
            let step = c * d;
            h *= step;
            if (step - 1.0).abs() < 1e-16 {
                break;
            }
        }
        let q = (front * h).min(1.0);
        (1.0 - q, q)
    }
}

/// Regularised incomplete beta functions (I, 1 − I) at a, b > 0: the continued fraction of
/// DLMF 8.17.22 by Lentz' method, on whichever side converges fast.
pub(crate) fn beta_pq(a: f64, b: f64, x: f64) -> (f64, f64) {
    if x <= 0.0 {
        return (0.0, 1.0);
    }
    if x >= 1.0 {
        return (1.0, 0.0);
    }
    let front = libm::exp(
        ln_gamma(a + b) - ln_gamma(a) - ln_gamma(b) + a * libm::log(x) + b * libm::log1p(-x),
    );
    if x < (a + 1.0) / (a + b + 2.0) {
        let p = (front * beta_fraction(a, b, x) / a).min(1.0);
        (p, 1.0 - p)
    } else {
        let q = (front * beta_fraction(b, a, 1.0 - x) / b).min(1.0);
        (1.0 - q, q)
    }
}

fn beta_fraction(a: f64, b: f64, x: f64) -> f64 {
    let mut c = 1.0;
    let mut d = 1.0 / nonzero(1.0 - (a + b) * x / (a + 1.0));
    let mut h = d;
    for m in 1..MOST_TERMS {
        let m = m as f64;
        let even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        d = 1.0 / nonzero(1.0 + even * d);
        c = nonzero(1.0 + even / c);
        h *= c * d;
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        d = 1.0 / nonzero(1.0 + odd * d);
        c = nonzero(1.0 + odd / c);
        let step = c * d;
        h *= step;
        if (step - 1.0).abs() < 1e-16 {
            break;
        }
    }
    h
}

fn nonzero(x: f64) -> f64 {
    if x.abs() < 1e-300 { 1e-300 } else { x }
}
