//! Castings that lean, levelled with errors of the sizes stated, many times over: every one is solved,
//! honest readings are seldom called contradictory, and up is as sure as is said.

use super::{free, l};
use samespot_core::frames::{Face, Part, Point2, Vector3};
use samespot_core::readings::*;
use samespot_core::surface::{Axis, Bulge, Cylinder, Dome, Shape, Surface, TwoRadii};

/// splitmix64 (Steele, Lea & Flood 2014), and from it normal deviates (Box & Muller 1958).
struct Strewn(u64);

impl Strewn {
    fn even(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }
    fn normal(&mut self, sd: f64) -> f64 {
        let (a, b) = (self.even().max(1e-300), self.even());
        sd * (-2.0 * a.ln()).sqrt() * (std::f64::consts::TAU * b).cos()
    }
}

fn faces() -> Vec<Surface> {
    let bulging = |r: f64| (l(r), Bulge::Bulging);
    vec![
        Surface::Cylinder(Cylinder::new(l(200.0), Axis::Up, Bulge::Bulging).unwrap()),
        Surface::Dome(Dome::new(l(220.0), Bulge::Bulging).unwrap()),
        Surface::TwoRadii(TwoRadii::new(bulging(240.0), bulging(400.0)).unwrap()),
    ]
}

/// Up of a casting turned and leaning by so much, in the face's own space.
fn up(turn: f64, lean: f64) -> Vector3<Part> {
    let level = lean.cos();
    Vector3::from_mm(lean.sin(), -turn.sin() * level, turn.cos() * level)
}

/// All distances between marks over the surface, and these levels, read to half a millimetre.
fn levelled(
    surface: &Surface,
    at: &[(f64, f64)],
    levels: &[(usize, usize)],
    up: Vector3<Part>,
    strewn: &mut Strewn,
) -> Network {
    let mut network = free(at, surface.clone());
    let places: Vec<Point2<Face>> = network.points.iter().map(|p| p.start).collect();
    let mut read = |kind, mm: f64| {
        network.readings.push(Reading {
            kind,
            value: l(mm + strewn.normal(0.5)),
            precision: Precision::Sd(l(0.5)),
        });
    };
    for to in 0..at.len() {
        for from in 0..to {
            let d = surface.over_surface(places[from], places[to], 0).unwrap();
            read(ReadingKind::Over { from, to, turns: 0 }, d.mm);
        }
    }
    for &(from, to) in levels {
        let way = surface.jet(places[to]).unwrap().at - surface.jet(places[from]).unwrap().at;
        let stance = 0;
        read(ReadingKind::Level { from, to, stance }, up.dot(way));
    }
    network.stances[0].turn = turn_from_readings(&network, 0);
    network
}

fn options() -> Options {
    Options {
        drawing_spread: Some(l(2.0)),
        weak_motion: Some(l(2.0 / 3.0)),
        ..Options::default()
    }
}

#[test]
fn every_casting_that_leans_is_solved_and_none_is_called_contradictory_for_it() {
    let at = [
        (-110.0, -80.0),
        (120.0, -70.0),
        (90.0, 100.0),
        (-100.0, 90.0),
        (10.0, -5.0),
    ];
    let (mut strewn, mut runs, mut high) = (Strewn(11), 0.0, 0.0);
    for surface in faces() {
        for _ in 0..100 {
            let (turn, lean) = (strewn.normal(0.05), strewn.normal(0.2));
            let levels = [(0, 1), (0, 2), (1, 3)];
            let network = levelled(&surface, &at, &levels, up(turn, lean), &mut strewn);
            let got = adjust(&network, &options()).unwrap();
            assert_eq!(got.status, Status::Converged, "{surface:?} {turn} {lean}");
            runs += 1.0;
            high += f64::from(u8::from(got.chi_square.unwrap().too_high));
        }
    }
    // 5 % by the test's own level, and three standard errors of a share of 300.
    assert!(high / runs < 0.05 + 0.038, "{}", high / runs);
}

/// A line that rises 7°: a lean that nobody knows shortens its rise by the half of its square, which
/// turns up against it by more than a level is read to.
#[test]
fn up_is_as_sure_as_is_said_where_the_casting_leans() {
    let at = [(-60.0, -10.0), (60.0, 5.0), (-20.0, 80.0), (30.0, -70.0)];
    for surface in faces() {
        let (mut strewn, mut squares, mut inside) = (Strewn(7), 0.0, 0.0);
        let runs = 200;
        for _ in 0..runs {
            // As wide as `readings::stance` takes it: most castings that are levelled lean under 15°.
            let (turn, lean) = (strewn.normal(0.05), strewn.normal(0.26));
            let up = up(turn, lean);
            let network = levelled(&surface, &at, &[(0, 1)], up, &mut strewn);
            let got = adjust(&network, &options()).unwrap();
            let found = got.up_against(0, 0, 1).unwrap();
            let [a, b] = [0, 1].map(|k: usize| network.points[k].start);
            let middle = a + (b - a) * 0.5;
            let line = surface.jet(middle).unwrap().space(b - a);
            let normal = surface.normal(middle).unwrap();
            let level = up - normal * up.dot(normal);
            let truth = normal.dot(line.cross(level)).atan2(line.dot(level));
            let z = (found.turn.rad() - truth) / found.sd.rad();
            squares += z * z;
            inside += f64::from(u8::from(z.abs() < 2.0));
        }
        let (rms, inside) = ((squares / f64::from(runs)).sqrt(), inside / f64::from(runs));
        assert!(rms < 1.2, "{surface:?}: {rms}");
        assert!(inside > 0.92, "{surface:?}: {inside}");
    }
}
