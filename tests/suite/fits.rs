//! Fits and distributions against published numbers.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::approx_constant,
    reason = "a test stops at the first fault; published digits stay as printed"
)]

use samespot_core::num::cholesky::Symmetric;
use samespot_core::num::distribution::{
    chi_square_quantile, fisher_quantile, normal_quantile, smallest_found, student_quantile,
    tau_critical,
};
use samespot_core::num::fit::{FitError, algebraic, plane, round};
use samespot_core::num::least_squares::{Model, Rows, Solution, Status, Stop, minimise};

#[track_caller]
fn near(got: f64, want: f64, tolerance: f64) {
    assert!((got - want).abs() <= tolerance, "{got} instead of {want}");
}

/// Gander, Golub & Strebel 1994, BIT 34:558-578.
const SIX: [[f64; 2]; 6] = [
    [1.0, 7.0],
    [2.0, 6.0],
    [5.0, 8.0],
    [7.0, 7.0],
    [9.0, 5.0],
    [3.0, 7.0],
];

#[test]
fn c2_geometric_circle() {
    // Their sections 3 and 4: centre (4.7398, 2.9835), radius 4.7142; the shared checks have 1e-6.
    let fit = round(&SIX).unwrap();
    near(fit.centre[0], 4.739_782_422_5, 1e-6);
    near(fit.centre[1], 2.983_532_768_6, 1e-6);
    near(fit.radius, 4.714_225_984_3, 1e-6);
    // The normal equations solved to 30 digits with mpmath.
    near(fit.centre[0], 4.739_782_410_906_074, 1e-10);
    near(fit.centre[1], 2.983_532_699_292_516, 1e-10);
    near(fit.radius, 4.714_226_037_792_11, 1e-10);
    near(fit.sum_of_squares, 1.227_599_078_2, 1e-9);
    let off = [
        0.773_759, -0.639_244, 0.308_986, -0.105_474, -0.000_884, -0.337_143,
    ];
    for (got, want) in fit.off.iter().zip(off) {
        near(*got, want, 6e-7);
    }
}

#[test]
fn c1_c3_algebraic_circles_differ_from_it() {
    // Their section 2 prints radius 3.0370 for unit-norm coefficients; Kasa's (1976) is
    // (4.742331, 3.835123, 4.108762), recomputed. Neither is the fit of c2.
    let (centre, radius) = algebraic(&SIX).unwrap();
    near(centre[0], 4.742_331, 6e-7);
    near(centre[1], 3.835_123, 6e-7);
    near(radius, 4.108_762, 6e-7);
}

#[test]
fn c8_circle_of_known_solution() {
    // Null-space data: Cox & Forbes, NPL report DITC 211/92 (1992).
    let points = [[10.05, 0.0], [0.0, 9.95], [-10.05, 0.0], [0.0, -9.95]];
    let fit = round(&points).unwrap();
    near(fit.centre[0], 0.0, 1e-9);
    near(fit.centre[1], 0.0, 1e-9);
    near(fit.radius, 10.0, 1e-9);
    near(fit.sum_of_squares, 0.01, 1e-9);
    near(algebraic(&points).unwrap().1, 10.000_125, 1e-6);
}

#[test]
fn c9_sphere_of_known_solution() {
    // Null-space data as c8: residuals 0.02, 0.02, -0.05, -0.05, 0.03, 0.03.
    let third = 1.0 / 3.0;
    let points = [
        [116.68, 216.68, -58.34],
        [83.32, 183.32, -41.66],
        [91.35 + third, 216.3 + third, -33.7 + third],
        [
            107.983_333_333_333_33 + third,
            183.033_333_333_333_33 + third,
            -66.3 - third,
        ],
        [
            116.353_333_333_333_33 + third,
            191.323_333_333_333_33 + third,
            -33.313_333_333_333_33,
        ],
        [
            82.98 + third,
            208.01 + third,
            -66.353_333_333_333_33 - third,
        ],
    ];
    let fit = round(&points).unwrap();
    for (got, want) in fit.centre.iter().zip([100.0, 200.0, -50.0]) {
        near(*got, want, 1e-8);
    }
    near(fit.radius, 25.0, 1e-8);
    near(fit.sum_of_squares, 0.0076, 1e-9);
}

#[test]
fn c11_plane_of_known_solution() {
    // ISO 12781-1 (least-squares reference plane), twisted square with e = 0.2.
    let e = 0.2;
    let points = [
        [0.0, 0.0, e],
        [100.0, 0.0, -e],
        [100.0, 100.0, e],
        [0.0, 100.0, -e],
    ];
    let fit = plane(&points).unwrap();
    for (got, want) in fit.normal.iter().zip([0.0, 0.0, 1.0]) {
        near(*got, want, 1e-12);
    }
    for (got, want) in fit.off.iter().zip([e, -e, e, -e]) {
        near(*got, want, 1e-12);
    }
}

#[test]
fn shapes_that_points_do_not_give_are_refused() {
    assert_eq!(
        round(&SIX[..2]),
        Err(FitError::TooFew { got: 2, needed: 3 })
    );
    assert_eq!(
        round(&[[0.0, 0.0], [1.0, 1.0], [2.0, 2.0], [5.0, 5.0]]),
        Err(FitError::TooFlat)
    );
    let line = [[0.0; 3], [1.0, 2.0, 3.0], [2.0, 4.0, 6.0]];
    assert_eq!(plane(&line), Err(FitError::TooFlat));
}

/// A curve y = f(x; b) with its derivatives, fitted to points.
struct Curve<'a> {
    points: &'a [(f64, f64)],
    scale: &'a [f64],
    f: fn(f64, &[f64]) -> (f64, Vec<f64>),
}

impl Model for Curve<'_> {
    type Error = core::convert::Infallible;
    fn unknowns(&self) -> usize {
        self.scale.len()
    }
    fn scale(&self) -> Vec<f64> {
        self.scale.to_vec()
    }
    fn rows(&self, b: &[f64], out: &mut Rows) -> Result<(), Self::Error> {
        out.clear();
        for (x, y) in self.points {
            let (value, d) = (self.f)(*x, b);
            let terms: Vec<(usize, f64)> = d.into_iter().enumerate().collect();
            out.push(&terms, y - value, 1.0);
        }
        Ok(())
    }
}

/// Certified values to `digits` significant digits: parameters, their deviations, residual sum.
#[track_caller]
fn certified(curve: &Curve<'_>, start: &[f64], b: &[f64], sd: &[f64], rss: f64, share: f64) {
    let Ok(got): Result<Solution, _> = minimise(
        curve,
        start,
        &Stop {
            most_steps: 500,
            step: 1e-13,
        },
    );
    assert_eq!(got.status, Status::Converged);
    near(got.rows.sum_of_squares(), rss, share * rss);
    let freedom = (curve.points.len() - b.len()) as f64;
    let s = (got.rows.sum_of_squares() / freedom).sqrt();
    let q = got.covariance().unwrap();
    for k in 0..b.len() {
        near(got.x[k], b[k], share * b[k].abs());
        near(s * q.get(k, k).sqrt(), sd[k], share * sd[k]);
    }
}

#[test]
fn c4_norris() {
    // NIST/ITL StRD, linear regression, Norris.
    let x = [
        0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4, 0.6, 775.5,
        666.9, 338.0, 447.5, 11.6, 556.0, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8, 339.1,
        887.2, 999.0, 779.0, 11.1, 118.3, 229.2, 669.1, 448.9, 0.5,
    ];
    let y = [
        0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1,
        668.8, 339.3, 448.9, 10.8, 557.7, 228.3, 998.0, 888.8, 119.6, 0.3, 0.6, 557.6, 339.3,
        888.0, 998.5, 778.9, 10.2, 117.6, 228.9, 668.4, 449.2, 0.2,
    ];
    let points: Vec<(f64, f64)> = x.into_iter().zip(y).collect();
    let line = Curve {
        points: &points,
        scale: &[1.0, 0.01],
        f: |x, b| (b[0] + b[1] * x, vec![1.0, x]),
    };
    let s = 0.884_796_396_144_373;
    certified(
        &line,
        &[0.0, 0.0],
        &[-0.262_323_073_774_029, 1.002_116_818_020_45],
        &[0.232_818_234_301_152, 0.000_429_796_848_199_937],
        s * s * 34.0,
        1e-9,
    );
}

#[test]
fn c5_misra1a_from_both_starts() {
    // NIST/ITL StRD, nonlinear regression, Misra1a: y = b1 (1 - exp(-b2 x)).
    let points = [
        (77.6, 10.07),
        (114.9, 14.73),
        (141.1, 17.94),
        (190.8, 23.93),
        (239.9, 29.61),
        (289.0, 35.18),
        (332.8, 40.02),
        (378.4, 44.82),
        (434.8, 50.76),
        (477.3, 55.05),
        (536.8, 61.01),
        (593.1, 66.4),
        (689.1, 75.47),
        (760.0, 81.78),
    ];
    let curve = Curve {
        points: &points,
        scale: &[100.0, 1e-4],
        f: |x, b| {
            let e = (-b[1] * x).exp();
            (b[0] * (1.0 - e), vec![1.0 - e, b[0] * x * e])
        },
    };
    for start in [[500.0, 0.0001], [250.0, 0.0005]] {
        certified(
            &curve,
            &start,
            &[238.942_129_18, 0.000_550_156_431_81],
            &[2.707_007_524_1, 7.266_868_843_6e-6],
            0.124_551_388_94,
            1e-8,
        );
    }
}

#[test]
fn c7_rat42_from_both_starts() {
    // NIST/ITL StRD, nonlinear regression, Rat42: y = b1 / (1 + exp(b2 - b3 x)).
    let points = [
        (9.0, 8.93),
        (14.0, 10.8),
        (21.0, 18.59),
        (28.0, 22.33),
        (42.0, 39.35),
        (57.0, 56.11),
        (63.0, 61.73),
        (70.0, 64.62),
        (79.0, 67.08),
    ];
    let curve = Curve {
        points: &points,
        scale: &[10.0, 1.0, 0.01],
        f: |x, b| {
            let e = (b[1] - b[2] * x).exp();
            let s = 1.0 / (1.0 + e);
            (b[0] * s, vec![s, -b[0] * s * s * e, b[0] * s * s * e * x])
        },
    };
    for start in [[100.0, 1.0, 0.1], [75.0, 2.5, 0.07]] {
        certified(
            &curve,
            &start,
            &[72.462_237_576, 2.618_076_840_2, 0.067_359_200_066],
            &[1.734_028_340_1, 0.088_295_217_536, 0.003_446_566_337_7],
            8.056_522_933_8,
            1e-8,
        );
    }
}

#[test]
fn d10_critical_values() {
    // Baarda 1968, Publ. on Geodesy 2(5); Pope 1976, NOAA Tech. Rep. NOS 65 NGS 1.
    near(
        normal_quantile(1.0 - 0.0005),
        3.290_526_731_491_925_5,
        1e-12,
    );
    near(normal_quantile(0.995), 2.5758, 5e-5);
    near(normal_quantile(0.975), 1.9600, 5e-5);
    near(smallest_found(0.001, 0.80), 4.132_147_965_064_84, 1e-12);
    let taus = [
        (2.0, 1.409_854_013_930_214_7),
        (3.0, 1.645_448_267_190_433_1),
        (4.0, 1.756_678_896_319_610_3),
        (5.0, 1.814_348_579_882_527_6),
        (10.0, 1.903_908_644_773_939_5),
        (14.0, 1.923_127_650_602_159_3),
        (20.0, 1.935_797_840_996_403_4),
        (30.0, 1.944_666_424_521_427_8),
    ];
    for (f, want) in taus {
        near(tau_critical(0.05, f).unwrap(), want, 1e-10);
    }
    // 24 residuals at 5 % for the family (Šidák): printed 2.7202.
    let one = 1.0 - 0.95_f64.powf(1.0 / 24.0);
    near(tau_critical(one, 14.0).unwrap(), 2.7202, 5e-4);
    assert_eq!(tau_critical(0.05, 1.0), None);
}

#[test]
fn d11_ellipse_scales() {
    // Mikhail 1976; Ghilani 2010, ch. 19.
    let known = |p: f64| chi_square_quantile(p, 2.0).sqrt();
    near(known(1.0 - (-0.5_f64).exp()), 1.0, 1e-12);
    near(known(0.90), 2.1460, 5e-5);
    near(known(0.95), 2.447_746_830_680_816, 1e-12);
    near(known(0.99), 3.0349, 5e-5);
    let estimated = |f: f64| (2.0 * fisher_quantile(0.95, 2.0, f)).sqrt();
    near(estimated(1.0), 19.974_984_355_438_16, 1e-10);
    near(estimated(10.0), 2.864_549_184_472_279, 1e-11);
}

#[test]
fn e4_student() {
    // JCGM 100:2008 (GUM), table G.2, at 95, 95.45 (that is two deviations) and 99 %; more digits
    // recomputed, the middle ones to the two decimals printed.
    let table = [
        (1.0, 12.706_204_736_174_694, 13.97, 63.656_741_162_871_526),
        (2.0, 4.302_652_729_749_462, 4.53, 9.924_843_200_918_287),
        (5.0, 2.570_581_835_636_314_6, 2.65, 4.032_142_983_555_228),
        (10.0, 2.228_138_851_986_274, 2.28, 3.169_272_672_616_95),
        (16.0, 2.119_905_299_221_254_6, 2.17, 2.920_781_622_425_1),
        (20.0, 2.085_963_447_265_864, 2.13, 2.845_339_709_786_107_7),
        (50.0, 2.008_559_112_100_761, 2.05, 2.677_793_270_940_844),
    ];
    for (f, at95, at2u, at99) in table {
        near(student_quantile(0.975, f), at95, 1e-11 * at95);
        near(student_quantile((1.0 + 0.9545) / 2.0, f), at2u, 5e-3);
        near(student_quantile(0.995, f), at99, 1e-11 * at99);
    }
}

#[test]
fn e5_chi_square() {
    // NIST/SEMATECH e-Handbook 1.3.6.7.4; more digits recomputed.
    let table = [
        (
            5.0,
            11.070_497_693_516_351,
            15.086_272_469_388_99,
            1.145_476_226_061_769_2,
        ),
        (
            10.0,
            18.307_038_053_275_146,
            23.209_251_158_954_356,
            3.940_299_136_119_060_5,
        ),
        (
            11.0,
            19.675_137_572_682_49,
            24.724_970_311_318_277,
            4.574_813_079_322_224,
        ),
        (
            20.0,
            31.410_432_844_230_918,
            37.566_234_786_625_07,
            10.850_811_394_182_59,
        ),
        (
            30.0,
            43.772_971_825_742_19,
            50.892_181_311_517_07,
            18.492_660_981_953_47,
        ),
    ];
    for (f, p95, p99, p05) in table {
        near(chi_square_quantile(0.95, f), p95, 1e-11 * p95);
        near(chi_square_quantile(0.99, f), p99, 1e-11 * p99);
        near(chi_square_quantile(0.05, f), p05, 1e-11 * p05);
    }
}

/// What slopes and variances give, by the law of propagation (JCGM 100:2008, 5.2.2).
fn propagated(slopes: &[&[f64]], covariance: &Symmetric) -> Symmetric {
    let mut rows = Rows::default();
    for row in slopes {
        let terms: Vec<(usize, f64)> = row.iter().copied().enumerate().collect();
        rows.push(&terms, 0.0, 1.0);
    }
    let mut out = Symmetric::zero(slopes.len());
    for i in 0..slopes.len() {
        for j in 0..=i {
            out.set(i, j, rows.form(i, covariance, j));
        }
    }
    out
}

#[test]
fn e1_end_gauge() {
    // JCGM 100:2008 (GUM), H.1, nm: standard, difference, difference of expansion, of temperature.
    let l_nm = 50_000_623.0;
    let d_nm = (5.8_f64 * 5.8 + 3.9 * 3.9 + 6.7 * 6.7).sqrt();
    near(d_nm, 9.7, 0.05);
    let root = 3.0_f64.sqrt();
    let sd = [25.0, d_nm, 1e-6 / root, 0.05 / root];
    let mut known = Symmetric::zero(4);
    for (k, s) in sd.into_iter().enumerate() {
        known.set(k, k, s * s);
    }
    // By 1, 1, minus l times the mean temperature's offset, minus l times the expansion.
    let slopes = [1.0, 1.0, l_nm * 0.1, -l_nm * 11.5e-6];
    for (slope, (s, printed)) in slopes.iter().zip(sd.iter().zip([25.0, 9.7, 2.9, 16.6])) {
        near((slope * s).abs(), printed, 0.05);
    }
    let u = propagated(&[&slopes], &known).get(0, 0).sqrt();
    // The length itself: 50.000838 mm, 215 nm over the standard's (temperature takes nothing off,
    // its mean difference is nought).
    near(l_nm + 215.0, 50_000_838.0, 1e-9);
    // Printed: 32 nm; 31.6639 without rounding.
    near(u, 31.663_879_111, 1e-6);
    // Printed: t99(16) = 2.92, U99 = 93 nm from the rounded 32; the degrees of freedom by Welch and
    // Satterthwaite, 16.7, are cut to 16.
    near(student_quantile(0.995, 16.0), 2.92, 5e-3);
    near(student_quantile(0.995, 16.0) * 32.0, 93.0, 0.5);
}

#[test]
fn e2_three_that_hang_together() {
    // JCGM 100:2008 (GUM), H.2, tables H.2 to H.4: volts, amperes, radians read at the same time.
    let read = [
        [5.007, 4.994, 5.005, 4.990, 4.999],
        [0.019_663, 0.019_639, 0.019_640, 0.019_685, 0.019_678],
        [1.0456, 1.0438, 1.0468, 1.0428, 1.0433],
    ];
    let mean = read.map(|r| r.iter().sum::<f64>() / 5.0);
    let mut known = Symmetric::zero(3);
    for i in 0..3 {
        for j in 0..=i {
            let sum: f64 = (0..5)
                .map(|k| (read[i][k] - mean[i]) * (read[j][k] - mean[j]))
                .sum();
            known.set(i, j, sum / 20.0);
        }
    }
    let correlation =
        |q: &Symmetric, i: usize, j: usize| q.get(i, j) / (q.get(i, i) * q.get(j, j)).sqrt();
    near(correlation(&known, 1, 0), -0.36, 5e-3);
    near(correlation(&known, 2, 0), 0.86, 5e-3);
    near(correlation(&known, 2, 1), -0.65, 5e-3);
    let [v, i, phi] = mean;
    let (z, c, s) = (v / i, phi.cos(), phi.sin());
    let got = propagated(
        &[
            &[c / i, -z * c / i, -z * s],
            &[s / i, -z * s / i, z * c],
            &[1.0 / i, -z / i, 0.0],
        ],
        &known,
    );
    near(z * c, 127.732, 5e-4);
    near(z * s, 219.847, 5e-4);
    near(z, 254.260, 5e-4);
    // Means and their deviations, as printed: 4.9990, 19.6610, 1.044 46; 0.0032, 0.0095, 0.000 75.
    for (got, want) in mean.iter().zip([4.9990, 0.019_661_0, 1.044_46]) {
        near(*got, want, 5e-7 * want.abs() + 1e-9);
    }
    for (k, (printed, half)) in [(0.0032, 5e-5), (9.5e-6, 5e-8), (0.000_75, 5e-6)]
        .into_iter()
        .enumerate()
    {
        near(known.get(k, k).sqrt(), printed, half);
    }
    near(got.get(0, 0).sqrt(), 0.071, 5e-4);
    // Printed 0.295 from rounded correlations; 0.2956 from the readings themselves.
    near(got.get(1, 1).sqrt(), 0.295, 7e-4);
    near(got.get(2, 2).sqrt(), 0.236, 5e-4);
    near(correlation(&got, 1, 0), -0.588, 5e-4);
    near(correlation(&got, 2, 0), -0.485, 6e-4);
    near(correlation(&got, 2, 1), 0.993, 5e-4);
}

#[test]
fn e3_a_scale_corrected_by_a_line() {
    // JCGM 100:2008 (GUM), H.3, table H.6: correction of a thermometer about 20 degrees.
    let t = [
        21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511,
    ];
    let b = [
        -0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160,
    ];
    let points: Vec<(f64, f64)> = t.into_iter().map(|t| t - 20.0).zip(b).collect();
    let line = Curve {
        points: &points,
        scale: &[1.0, 0.1],
        f: |x, b| (b[0] + b[1] * x, vec![1.0, x]),
    };
    let stop = Stop {
        most_steps: 100,
        step: 1e-13,
    };
    let Ok(got) = minimise(&line, &[0.0, 0.0], &stop);
    near(got.x[0], -0.1712, 5e-5);
    near(got.x[1], 0.002_18, 5e-6);
    let s2 = got.rows.sum_of_squares() / 9.0;
    near(s2.sqrt(), 0.0035, 5e-5);
    let q = got.covariance().unwrap();
    near((s2 * q.get(0, 0)).sqrt(), 0.0029, 5e-5);
    near((s2 * q.get(1, 1)).sqrt(), 0.000_67, 5e-6);
    near(
        q.get(1, 0) / (q.get(0, 0) * q.get(1, 1)).sqrt(),
        -0.930,
        5e-4,
    );
    // At 30 degrees: without the correlation the second figure would be wrong.
    near(got.x[0] + 10.0 * got.x[1], -0.1494, 5e-5);
    let at_30 = propagated(&[&[1.0, 10.0]], &q).get(0, 0);
    near((s2 * at_30).sqrt(), 0.0041, 5e-5);
}

#[test]
fn e13_a_chain_of_three() {
    // JCGM 100:2008, 5.1.2, for independent terms: h = a + b - c with 0.5, 0.3 and 0.4 mm.
    let mut known = Symmetric::zero(3);
    for (k, s) in [0.5, 0.3, 0.4].into_iter().enumerate() {
        known.set(k, k, s * s);
    }
    let got = propagated(&[&[1.0, 1.0, -1.0]], &known).get(0, 0).sqrt();
    near(got, 0.707_106_781_186_547_6, 1e-12);
}
