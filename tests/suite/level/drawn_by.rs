//! What is uncertain about the marks that an outline is drawn by counts in its budget: readings strewn as
//! the adjustment says they may be, the whole made anew each time, laid on the true marks, and where its
//! end then lands compared with what was promised.

use super::*;
use nalgebra::{DMatrix, DVector, Matrix2};
use samespot_core::frames::{Flat, Point2, Vector2};
use samespot_core::job::{
    AxisChoice, CastingId, Kept, MarkEdit, MarkId, Measured, PointRef, Reading, SeenFrom,
};
use samespot_core::prepare::LayBasis;
use samespot_core::template::{Cover, TermKind, land};
use samespot_tests::meshes::shaken;

const TIMES: usize = 250;

/// Two repeatable standard normal numbers at a time (Box & Muller 1958, Ann. Math. Stat. 29:610).
fn normal(state: &mut u64, n: usize) -> DVector<f64> {
    let one = || {
        let (a, b) = (shaken(state).abs().max(1e-12), shaken(state));
        (-2.0 * a.ln()).sqrt() * (std::f64::consts::PI * b).cos()
    };
    DVector::from_iterator(n, std::iter::repeat_with(one).take(n))
}

/// A root of the first rows and columns of a covariance; what is singular in it is left where it is.
fn root(c: &DMatrix<f64>, n: usize) -> DMatrix<f64> {
    let part = c.view((0, 0), (n, n)).into_owned();
    let e = part.symmetric_eigen();
    let roots = e.eigenvalues.map(|x| x.max(0.0).sqrt());
    &e.eigenvectors * DMatrix::from_diagonal(&roots)
}

/// The middle of the end of the outline on one side.
fn end(p: &Prepared, side: f64) -> Point2<Flat> {
    let all = p.paint_edge.samples(Length::from_mm(0.5));
    let far = all.iter().map(|q| side * q.x_mm()).fold(f64::MIN, f64::max);
    let near: Vec<_> = (all.iter())
        .filter(|q| side * q.x_mm() > far - 1.5)
        .collect();
    let n = near.len() as f64;
    let sum = near.iter().fold(Vector2::ZERO, |s, q| s + q.from_origin());
    Point2::ORIGIN + sum * (1.0 / n)
}

/// Where an end lands when the template lies on the true marks, against where it should.
fn lands(p: &Prepared, truth: &Prepared, side: f64) -> Vector2<Flat> {
    let drawn: Vec<Point2<Flat>> = p.crosses.iter().map(|c| c.at).collect();
    let off = land(&truth.laying, &drawn, &truth.placed.marks, None).unwrap();
    let q = end(p, side);
    (q + off.at(q)) - end(truth, side)
}

fn spread(all: &[Vector2<Flat>]) -> f64 {
    let mut c = Matrix2::zeros();
    for v in all {
        let v = nalgebra::Vector2::new(v.x_mm(), v.y_mm());
        c += v * v.transpose() / all.len() as f64;
    }
    Cover::of(&c).major_mm
}

fn said(p: &Prepared, kind: TermKind) -> f64 {
    let term = p.budget.terms.iter().find(|t| t.kind == kind);
    term.map_or(0.0, |t| t.size.mm())
}

fn set(reading: &mut Kept<Reading>, mm: f64) {
    reading.says.value = Entry::of_mm(mm);
}

#[test]
fn the_line_it_runs_along_is_only_as_sure_as_its_marks() {
    let ids = QuickIds::fixed().unwrap();
    let c = MarkId::new("c").unwrap();
    let at = [(-80.0_f64, -60.0_f64), (80.0, -60.0), (-75.0, -20.0)];
    let apart = |i: usize, j: usize| (at[i].0 - at[j].0).hypot(at[i].1 - at[j].1);
    // The rule is A–B; what is painted runs along A–C, a short line: it is the less sure of the two.
    let mut payloads = facts(&FaceShape::Flat, Runs::Straight, [160.0, 100.0, 100.0]);
    let edit = MarkEdit {
        face: Some(ids.face.clone()),
        letter: Some("C".into()),
        side: Some(LineSide::Above),
        ..MarkEdit::default()
    };
    let edit = Edit::of(EntityRef::Mark(c.clone()), &edit).unwrap();
    payloads.push(Payload::Edit(edit));
    let piece: CastingId = QuickIds::piece(1).unwrap().0;
    for casting in [ids.good_one.clone(), piece.clone()] {
        for (k, from) in [ids.a.clone(), ids.b.clone()].into_iter().enumerate() {
            payloads.push(Payload::Reading(Reading {
                casting: casting.clone(),
                of: Measured::Over {
                    from: PointRef::Mark(from),
                    to: PointRef::Mark(c.clone()),
                },
                value: Entry::of_mm(apart(k, 2)),
                instrument: Some(ids.tape.clone()),
                hooked: false,
                stage: None,
                within: None,
                set_aside: None,
            }));
        }
    }
    let mut job = told(&payloads);
    let spot = job.features.get_mut(&ids.spot).unwrap();
    spot.runs = Some(Runs::Along);
    spot.along = Some(BetweenMarks {
        from: ids.a.clone(),
        to: c.clone(),
    });
    let truth = prepared(&job);
    assert_eq!(truth.crosses.len(), 3);
    let side = truth.budget.at.x_mm().signum();

    // Chart to sheet: up on the sheet is a direction of the chart.
    let up = truth.placed.pose.up;
    let turn = up.x_mm().atan2(up.y_mm());
    let root = root(&truth.basis.casting, 6);
    let mut state = 0xA11CE_u64;
    let mut off = Vec::new();
    for _ in 0..TIMES {
        let moved = &root * normal(&mut state, 6);
        let m: Vec<(f64, f64)> = (0..3)
            .map(|k| {
                let by = Vector2::<Flat>::from_mm(moved[2 * k], moved[2 * k + 1]).turned(turn);
                let at = truth.placed.marks[k] + by;
                (at.x_mm(), at.y_mm())
            })
            .collect();
        let mut strewn = job.clone();
        let letter = |p: &PointRef| {
            let marks = [&ids.a, &ids.b, &c];
            marks
                .iter()
                .position(|m| *p == PointRef::Mark((*m).clone()))
        };
        let mut readings: Vec<_> = strewn.readings.iter().cloned().collect();
        for r in readings.iter_mut().filter(|r| r.says.casting == piece) {
            if let Measured::Over { from, to } | Measured::Straight { from, to } = &r.says.of
                && let (Some(i), Some(j)) = (letter(from), letter(to))
            {
                set(r, (m[i].0 - m[j].0).hypot(m[i].1 - m[j].1));
            }
        }
        strewn.readings = readings.into_iter().collect();
        off.push(lands(&prepared(&strewn), &truth, side));
    }
    let (found, promised) = (spread(&off), said(&truth, TermKind::Measuring));
    eprintln!("along: {found:.3} found, {promised:.3} promised");
    assert!(found > 1.0, "{found}: a line so short is unsure");
    // 250 draws tell a deviation to 4.5 %, one standard deviation.
    assert!(
        (found / promised - 1.0).abs() < 0.15,
        "{found} for {promised}"
    );
}

#[test]
fn a_view_is_only_as_sure_as_the_mark_one_stands_before() {
    let ids = QuickIds::fixed().unwrap();
    let r = 160.0;
    let post = FaceShape::Cylinder {
        axis: AxisChoice::Up,
        hollow: false,
        size: Size::Radius {
            radius: Entry::of_mm(r),
        },
    };
    // Its middle is 45° round from A, where one stands: what is seen there is half as long again.
    let mut job = job(&post, Runs::Straight, [200.0, 126.0, 126.0]);
    let spot = job.features.get_mut(&ids.spot).unwrap();
    spot.seen = Some(SeenFrom::Level {
        mark: ids.a.clone(),
    });
    spot.outline = Some(OutlineSpec::RoundedBox {
        width: Entry::of_mm(60.0),
        height: Entry::of_mm(4.0),
        corner: Entry::of_mm(0.5),
    });
    let truth = prepared(&job);
    let side = truth.budget.at.x_mm().signum();
    let n = 6;
    let root = root(&truth.basis.drawing, n);
    // A, B and the middle on the pattern, about the middle; unrolled, distances over it are straight.
    let at = |p: &Prepared| -> Vec<(f64, f64)> {
        (0..2)
            .map(|k| (p.placed.marks[k].x_mm(), p.placed.marks[k].y_mm()))
            .chain([(0.0, 0.0)])
            .collect()
    };
    let places = at(&truth);
    let mut state = 0xB0B_u64;
    let (mut off, mut own) = (Vec::new(), Vec::new());
    for _ in 0..TIMES {
        let moved = &root * normal(&mut state, n);
        let m: Vec<(f64, f64)> = (0..3)
            .map(|k| (places[k].0 + moved[2 * k], places[k].1 + moved[2 * k + 1]))
            .collect();
        let mut strewn = job.clone();
        let point = |p: &PointRef| {
            let all = [
                PointRef::Mark(ids.a.clone()),
                PointRef::Mark(ids.b.clone()),
                PointRef::Feature(ids.spot.clone()),
            ];
            all.iter().position(|q| q == p)
        };
        let good = &ids.good_one;
        let mut readings: Vec<_> = strewn.readings.iter().cloned().collect();
        for r in readings.iter_mut().filter(|r| r.says.casting == *good) {
            if let Measured::Over { from, to } | Measured::Straight { from, to } = &r.says.of
                && let (Some(i), Some(j)) = (point(from), point(to))
            {
                set(r, (m[i].0 - m[j].0).hypot(m[i].1 - m[j].1));
            }
        }
        strewn.readings = readings.into_iter().collect();
        let p = prepared(&strewn);
        off.push(lands(&p, &truth, side));
        own.push(end(&p, side) - end(&truth, side));
    }
    let (found, promised) = (spread(&off), said(&truth, TermKind::Pattern));
    eprintln!("seen: {found:.3} found, {promised:.3} promised");
    // The radius is strewn in what is promised, not here.
    assert!(
        (found / promised - 1.0).abs() < 0.2,
        "{found} for {promised}"
    );
    // In its own frame, too: how far the view alone moves that end.
    let looked = truth.basis.outline.iter().enumerate();
    let at = end(&truth, side);
    let far = |p: &Point2<Flat>| p.distance(at).mm();
    let (k, _) = looked.min_by(|a, b| far(a.1).total_cmp(&far(b.1))).unwrap();
    let mut by = DMatrix::zeros(2, truth.basis.drawing.ncols());
    for (column, v) in &truth.basis.drawn_by[k].drawing {
        by[(0, *column)] = v.x_mm();
        by[(1, *column)] = v.y_mm();
    }
    let c = &by * &truth.basis.drawing * by.transpose();
    let promised = Cover::of(&Matrix2::from_fn(|r, k| c[(r, k)])).major_mm;
    let found = spread(&own);
    eprintln!("seen, by itself: {found:.3} found, {promised:.3} promised");
    assert!(found > 0.1, "{found}: a view so far round is not that sure");
    assert!(
        (found / promised - 1.0).abs() < 0.2,
        "{found} for {promised}"
    );
    // And it is in the budget.
    let without = LayBasis {
        drawn_by: Vec::new(),
        ..truth.basis.clone()
    };
    let sum = without.leaves(&truth.placed, &truth.laying, &[]).unwrap().1;
    assert!((sum.worst.mm() - truth.budget.worst.mm()).abs() > 0.001);
}
