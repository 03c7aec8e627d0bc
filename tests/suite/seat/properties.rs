//! What must hold for any seat.

use super::{as_drawn, gap, mm, on_base, on_figure, way};
use nalgebra::{Matrix3, Rotation3, Vector3 as Column3};
use proptest::prelude::*;
use samespot_core::frames::{Base, Figure, Rigid3};
use samespot_core::seat::{Holds, Locator, Start, locate};

fn three(within: f64) -> impl Strategy<Value = [f64; 3]> {
    [-within..within, -within..within, -within..within]
}

fn turned(by: [f64; 3]) -> Matrix3<f64> {
    *Rotation3::from_scaled_axis(Column3::from(by)).matrix()
}

/// Three legs on the level, two against a side, one against an end, readings in `read`.
fn six(read: &[f64]) -> Vec<Locator> {
    let legs = [[-60.0, -50.0, 0.0], [70.0, -40.0, 0.0], [5.0, 80.0, 0.0]];
    let mut all: Vec<Locator> = legs
        .into_iter()
        .map(|p| gap("leg", p, p, [0.0, 0.0, 1.0], 0.0))
        .collect();
    for p in [[-60.0, -50.0, 30.0], [70.0, -50.0, 30.0]] {
        all.push(gap("side", p, p, [0.0, 1.0, 0.1], 0.0));
    }
    all.push(gap(
        "end",
        [-60.0, 10.0, 20.0],
        [-60.0, 10.0, 20.0],
        [1.0, 0.0, 0.0],
        0.0,
    ));
    for (l, r) in all.iter_mut().zip(read) {
        l.reads = mm(*r);
    }
    all
}

fn carried(all: &[Locator], by: &Rigid3<Base, Base>) -> Vec<Locator> {
    let mut out = all.to_vec();
    for l in &mut out {
        if let Holds::Gap { face, normal, .. } = &mut l.holds {
            *face = by.point(*face);
            *normal = by.vector(*normal);
        }
    }
    out
}

proptest! {
    /// Moving the base moves the figure with it: nothing depends on where the origin is.
    #[test]
    fn the_figure_follows_its_base(
        read in proptest::collection::vec(-4.0..4.0f64, 6),
        turn in three(1.5),
        shift in three(900.0),
        p in three(300.0),
    ) {
        let all = six(&read);
        let here = locate(&all, &Start::at(as_drawn())).unwrap();
        let by = Rigid3::<Base, Base>::new(turned(turn), on_base(shift)).unwrap();
        let there = locate(&carried(&all, &by), &Start::at(by.after(as_drawn()))).unwrap();
        let (here, there) = (here.seated().unwrap(), there.seated().unwrap());
        let one = by.point(here.base_from_figure.point(on_figure(p))).mm();
        let other = there.base_from_figure.point(on_figure(p)).mm();
        prop_assert!((one - other).norm() < 1e-6, "{one} {other}");
        for i in 0..6 {
            let (a, b) = (by.vector(here.moves(i, on_figure(p))).mm(), there.moves(i, on_figure(p)).mm());
            prop_assert!((a - b).norm() < 1e-6);
        }
    }

    /// What each reading is said to move is what it moves (the place solved again).
    #[test]
    fn sensitivities_are_differences(
        read in proptest::collection::vec(-4.0..4.0f64, 6),
        which in 0usize..6,
        p in three(300.0),
    ) {
        let h = 1e-3;
        let solve = |read: &[f64]| locate(&six(read), &Start::at(as_drawn())).unwrap();
        let at = |by: f64| {
            let mut read = read.clone();
            read[which] += by;
            solve(&read).seated().unwrap().base_from_figure.point(on_figure(p)).mm()
        };
        let said = solve(&read).seated().unwrap().moves(which, on_figure(p)).mm();
        let found = (at(h) - at(-h)) / (2.0 * h);
        prop_assert!((said - found).norm() < 1e-5, "{said} {found}");
    }

    /// The order of the readings does not matter, nor one said twice.
    #[test]
    fn order_does_not_matter(read in proptest::collection::vec(-4.0..4.0f64, 6), by in 1usize..6) {
        let all = six(&read);
        let mut other = all.clone();
        other.rotate_left(by);
        other.push(all[0].clone());
        let place = |all: &[Locator]| {
            locate(all, &Start::at(as_drawn())).unwrap().seated().unwrap().base_from_figure
        };
        let (a, b): (Rigid3<Base, Figure>, _) = (place(&all), place(&other));
        let p = on_figure([100.0, -50.0, 400.0]);
        prop_assert!((a.point(p).mm() - b.point(p).mm()).norm() < 1e-7);
    }

    /// Derivatives of every kind are differences: a step along what is free of all others.
    #[test]
    fn every_kind_holds_what_it_says(kind in 0usize..6, n in three(1.0), f in three(120.0), b in three(60.0), g in three(100.0)) {
        prop_assume!(Column3::from(n).norm() > 0.2 && Column3::from(g).norm() > 20.0);
        let apart = [f[0] + b[0] + 80.0, f[1] + b[1], f[2] + b[2]];
        let figure_way = samespot_core::frames::Vector3::from_mm(n[0], n[1], n[2]);
        let holds = match kind {
            0 => Holds::Gap { on: on_figure(f), face: on_base(b), normal: way(n) },
            1 => Holds::Stop { on: on_base(b), face: on_figure(f), normal: figure_way },
            2 => Holds::Distance { on: on_figure(f), from: on_base(apart) },
            3 => Holds::Along { on: on_figure(f), from: on_base(b), direction: way(n) },
            4 => Holds::Level { one: on_figure(f), other: on_figure(g), up: way(n) },
            _ => Holds::Parallel { line: samespot_core::frames::Vector3::from_mm(g[0], g[1], g[2]), square_to: way(n), over: mm(100.0) },
        };
        // Six stiff readings hold the figure where it is; the seventh only says its misfit there.
        let mut all = six(&[0.0; 6]);
        all.iter_mut().for_each(|l| l.within = mm(1e-4));
        let probe = |by: usize, h: f64| {
            let mut all = all.clone();
            all[by].reads = mm(h);
            all.push(Locator { name: "probe".into(), holds, reads: mm(0.0), within: mm(1e4) });
            let outcome = locate(&all, &Start::at(as_drawn())).unwrap();
            outcome.seating().off_by[6].mm()
        };
        // Tight probe: it alone moves what is loose, by what its derivatives say.
        let mut loose = six(&[0.0; 6]);
        let off = probe(0, 0.0);
        loose.push(Locator { name: "probe".into(), holds, reads: mm(off + 0.01), within: mm(1e-3) });
        let outcome = locate(&loose, &Start::at(as_drawn())).unwrap();
        let moved: Vec<f64> = outcome.seating().off_by.iter().map(|v| v.mm()).collect();
        // Least squares: the loose six give way in proportion to how much each moves the probe.
        let by: Vec<f64> = (0..6).map(|i| (probe(i, 0.01) - probe(i, -0.01)) / 0.02).collect();
        let square: f64 = by.iter().map(|x| x * x).sum();
        prop_assume!(square > 0.01);
        for i in 0..6 {
            let want = 0.01 * by[i] / (square + 1e-6);
            // A probe with little hold moves the six far (up to 0.1 mm): what is bent in its way, a
            // hundredth of that, is no part of its slope.
            let bent = 2e-4 + 0.01 * want.abs();
            prop_assert!((moved[i] - want).abs() < bent, "{i}: {} {want}", moved[i]);
        }
    }
}
