//! One eye made three ways: the same invented head taken for a dome, for a face with two radii, and from
//! a scan of it. Where does each template's outline land on the true head?
//!
//! Outside values: `reference/three-ways` (its script, its surfaces and its distances share no code with
//! the core). Laid with its crosses on the true marks, a place of a flat sheet lands where its distances
//! from them are those of the paper; how far that is from its true place is the least-squares shift along
//! the directions in which the true ways arrive (design/11, *Flattening error*, worked again here).

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::cast_possible_truncation,
    reason = "a test stops at the first fault"
)]

use samespot_core::frames::{Face, Flat, Point2};
use samespot_core::job::{
    Curve, EntityRef, FaceAxis, FaceShape, FeatureEdit, LineSide, MarkEdit, Measured, OutlineSpec,
    Payload, Reading, Size,
};
use samespot_core::prepare::{Prepared, Source, prepare, read_scans};
use samespot_core::read::mesh::bvh::Boxes;
use samespot_core::read::mesh::fit::{Fitted, Wanted, fit};
use samespot_core::read::mesh::read;
use samespot_core::surface::{Dart, ScanFace, Shape, Surface};
use samespot_core::template::TermKind;
use samespot_core::units::Length;
use samespot_core::write::job::attachment_hash;
use samespot_tests::jobs::{Script, id, mm, point};
use samespot_tests::meshes::Made;
use serde_json::Value;

const NAMES: [&str; 4] = ["a", "b", "c", "spot"];

fn reference(file: &str) -> Vec<u8> {
    let root = concat!(env!("CARGO_MANIFEST_DIR"), "/reference/three-ways/");
    std::fs::read(format!("{root}{file}")).unwrap()
}

fn number(v: &Value) -> f64 {
    v.as_f64().unwrap_or_else(|| panic!("{v} is no number"))
}

fn three(v: &Value) -> [f64; 3] {
    core::array::from_fn(|k| number(&v[k]))
}

/// One of the two heads.
struct Head {
    name: &'static str,
    truth: Value,
}

impl Head {
    fn read(name: &'static str) -> Self {
        let all: Value = serde_json::from_slice(&reference("truth.json")).unwrap();
        Self {
            name,
            truth: all[name].clone(),
        }
    }

    fn over(&self, i: usize, j: usize) -> f64 {
        // As a tape is read: to a tenth at best.
        (number(&self.truth["over"][format!("{} {}", NAMES[i], NAMES[j])]) * 10.0).round() / 10.0
    }

    fn job(&self, shape: FaceShape) -> Script {
        let mut s = Script::one_face(shape, &NAMES[..3], 1);
        s.set(
            EntityRef::Mark(id("c")),
            &MarkEdit {
                side: Some(LineSide::Above),
                ..MarkEdit::default()
            },
        );
        s.set(
            EntityRef::Feature(id("spot")),
            &FeatureEdit {
                outline: Some(OutlineSpec::Oval {
                    width: mm(62.0),
                    height: mm(48.0),
                }),
                side: Some(LineSide::Below),
                tolerance: Some(Length::from_mm(2.0)),
                ..FeatureEdit::default()
            },
        );
        for (i, j) in [(0, 1), (0, 2), (1, 2)] {
            s.over("c1", NAMES[i], NAMES[j], self.over(i, j));
        }
        s
    }

    fn taped(&self, shape: FaceShape) -> Script {
        let mut s = self.job(shape);
        for (i, from) in NAMES.iter().enumerate() {
            for (j, to) in NAMES.iter().enumerate().skip(i + 1) {
                s.over("pattern", from, to, self.over(i, j));
            }
        }
        s
    }

    fn dome(&self) -> Script {
        let radius = mm(number(&self.truth["ball"]));
        self.taped(FaceShape::Dome {
            hollow: false,
            size: Size::Radius { radius },
        })
    }

    fn two_radii(&self) -> Script {
        let edge = &self.truth["straight_edge"];
        let curve = |way: &str| Curve::Bulging {
            size: Size::StraightEdge {
                length: mm(number(&edge["length"])),
                gap: mm(number(&edge[way])),
                read_to: Some(mm(0.1)),
            },
        };
        self.taped(FaceShape::TwoRadii {
            across: curve("across"),
            up: curve("up"),
        })
    }

    fn scan(&self) -> Made {
        let scan = &self.truth["scan"];
        let (n, u, v) = (three(&scan["n"]), three(&scan["u"]), three(&scan["v"]));
        let cells = scan["cells"].as_u64().unwrap() as u32;
        let (low, high) = (number(&scan["side"][0]), number(&scan["side"][1]));
        let side = |k: u32| {
            (low + (high - low) * f64::from(k) / f64::from(cells)) / number(&scan["radius"])
        };
        let bytes = reference(&format!("{}.radii", self.name));
        let mut made = Made::default();
        for (at, um) in bytes.chunks_exact(4).enumerate() {
            let at = at as u32;
            let (a, b) = (side(at % (cells + 1)), side(at / (cells + 1)));
            let d: [f64; 3] = core::array::from_fn(|k| n[k] + a * u[k] + b * v[k]);
            let long = d.iter().map(|x| x * x).sum::<f64>().sqrt();
            let r = f64::from(u32::from_le_bytes(um.try_into().unwrap())) / 1000.0;
            made.points.push(d.map(|x| x / long * r));
        }
        for j in 0..cells {
            for i in 0..cells {
                let a = j * (cells + 1) + i;
                let (b, c, d) = (a + 1, a + cells + 1, a + cells + 2);
                made.triangles.extend([[a, b, d], [a, d, c]]);
            }
        }
        made
    }

    fn fitted(&self) -> Fitted {
        let made = self.scan();
        assert_eq!(made.triangles.len(), 60_552);
        let scan = read(&made.stl()).unwrap();
        let marks = &self.truth["marks"];
        let named: Vec<(String, [f64; 3])> = NAMES
            .iter()
            .map(|name| ((*name).to_owned(), three(&marks[*name])))
            .collect();
        let wanted = Wanted {
            marks: &named,
            toward: Some(three(&self.truth["scan"]["n"])),
            up: [0.0, 0.0, 1.0],
            unit_mm: 1.0,
            smooth_mm: None,
        };
        fit(&scan.mesh, &Boxes::over(&scan.mesh), &scan.look, &wanted).unwrap()
    }

    fn scanned(&self) -> Script {
        let fitted = self.fitted();
        let bytes = serde_json::to_vec(&fitted.patch).unwrap();
        let hash = attachment_hash(&bytes);
        let mut s = self.job(FaceShape::Scan {
            attachment: hash.clone(),
            file: "invented.stl".into(),
            unit: "mm".into(),
        });
        s.attachments.insert(hash, bytes);
        for (name, laid) in NAMES.iter().zip(&fitted.marks) {
            for (axis, value) in [(FaceAxis::U, laid.uv_mm[0]), (FaceAxis::V, laid.uv_mm[1])] {
                s.say(&Payload::Reading(Reading {
                    casting: id("pattern"),
                    of: Measured::Coordinate {
                        of: point(name),
                        axis,
                    },
                    value: mm(value),
                    instrument: None,
                    hooked: false,
                    stage: None,
                    within: Some(Length::from_mm(0.5)),
                    set_aside: None,
                }));
            }
        }
        s
    }

    /// How far each of the 48 places of the outline lands from its true one, mm.
    fn lands(&self, p: &Prepared) -> Vec<f64> {
        let crosses: Vec<Point2<Flat>> = ["A", "B", "C"]
            .iter()
            .map(|l| p.crosses.iter().find(|c| c.letter == *l).unwrap().at)
            .collect();
        let edge: Vec<Point2<Flat>> = p
            .paint_edge
            .polylines(Length::from_mm(0.002))
            .into_iter()
            .flatten()
            .collect();
        let rows = self.truth["outline"].as_array().unwrap();
        rows.iter()
            .map(|row| {
                let wanted = Point2::<Flat>::from_mm(number(&row[0][0]), number(&row[0][1]));
                let drawn = drawn_at(&edge, wanted);
                // The sheet has the oval, a little larger for its own thickness and no more.
                assert!(
                    (drawn - wanted).norm_mm() < 0.05,
                    "{drawn:?} for {wanted:?}"
                );
                let (mut n, mut right) = ([0.0; 3], [0.0; 2]);
                for (cross, truth) in crosses.iter().zip(row.as_array().unwrap().iter().skip(1)) {
                    let [far, x, y] = three(truth);
                    let too_long = apart(&p.darts, *cross, drawn) - far;
                    n = [n[0] + x * x, n[1] + x * y, n[2] + y * y];
                    right = [right[0] + x * too_long, right[1] + y * too_long];
                }
                let det = n[0] * n[2] - n[1] * n[1];
                let by = [
                    (n[2] * right[0] - n[1] * right[1]) / det,
                    (n[0] * right[1] - n[1] * right[0]) / det,
                ];
                by[0].hypot(by[1])
            })
            .collect()
    }
}

/// Where the drawn line crosses the ray from the middle through a place.
fn drawn_at(edge: &[Point2<Flat>], through: Point2<Flat>) -> Point2<Flat> {
    let ray = through.from_origin();
    let crossed = (0..edge.len()).find_map(|k| {
        let (a, b) = (edge[k], edge[(k + 1) % edge.len()]);
        let (sa, sb) = (ray.cross(a.from_origin()), ray.cross(b.from_origin()));
        let at = a.lerp(b, sa / (sa - sb));
        (sa * sb <= 0.0 && (sa - sb).abs() > 0.0 && at.from_origin().dot(ray) > 0.0).then_some(at)
    });
    crossed.unwrap_or_else(|| panic!("the outline has nothing towards {through:?}"))
}

/// The shortest way on the sheet with its darts closed, by trying every hundredth of a millimetre of a
/// seam: at one distance from the tip both edges lie on each other.
fn apart(darts: &[Dart], a: Point2<Flat>, b: Point2<Flat>) -> f64 {
    let inside = |d: &Dart, p: Point2<Flat>| {
        let v = p - d.tip;
        let [e, f] = d.edges();
        e.cross(v) > 1e-9 && v.cross(f) > 1e-9
    };
    let blocked = (1..400).any(|k| {
        let p = a.lerp(b, f64::from(k) / 400.0);
        darts.iter().any(|d| inside(d, p))
    });
    if !blocked {
        return (b - a).norm_mm();
    }
    let mut least = f64::INFINITY;
    for d in darts {
        let [e, f] = d.edges();
        for k in 0..20_000 {
            let s = f64::from(k) * 0.01;
            let (p, q) = (d.tip + e * s, d.tip + f * s);
            let one = (p - a).norm_mm() + (b - q).norm_mm();
            let other = (q - a).norm_mm() + (b - p).norm_mm();
            least = least.min(one.min(other));
        }
    }
    least
}

fn prepared(s: &Script) -> Prepared {
    let mut job = s.ledger.fold();
    read_scans(&mut job, &s.attachments);
    let source = Source {
        job: &job,
        attachments: &s.attachments,
    };
    prepare(&source, &id("spot"), &id("p1")).unwrap()
}

/// Where an outline lands at worst, beside what its sheet says flat paper leaves.
#[track_caller]
fn check(head: &Head, way: &str, script: &Script) {
    let p = prepared(script);
    let off = head.lands(&p);
    let worst = off.iter().copied().fold(0.0, f64::max);
    let rms = (off.iter().map(|x| x * x).sum::<f64>() / off.len() as f64).sqrt();
    let flat = &p.basis.flattening;
    let said = flat.iter().map(|v| v.norm_mm()).fold(0.0, f64::max);
    println!(
        "{:8} {way:10} lands {worst:.2} mm off at worst, {rms:.2} on the whole; its flat paper says {said:.2}",
        head.name
    );
    // A quarter of the 2 mm asked for is what flat paper may take before darts are cut; a face kind
    // that is not quite the head's shape, readings to a tenth and a scan's roughness add to that.
    assert!(worst < 0.6, "{} {way}: {worst}", head.name);
    // What two radii leave out of a head is in the budget, not in what is said of flat paper.
    let form = p.budget.terms.iter().find(|t| t.kind == TermKind::Form);
    let form = form.map_or(0.0, |t| t.size.mm());
    println!("{:8} {way:10} its shape {form:.2}", head.name);
    match way {
        "dome" => assert!(form == 0.0),
        "two radii" => assert!(worst - said <= form && form < 0.6, "{form}"),
        _ => assert!((0.001..0.2).contains(&form), "{form}"),
    }
    // What a face kind leaves beside the head's true shape: a tenth of what is asked for.
    assert!(
        (worst - said).abs() < 0.2,
        "{} {way}: {worst} for {said}",
        head.name
    );
}

#[test]
fn all_but_a_ball_lands_alike_all_three_ways() {
    let head = Head::read("carved");
    check(&head, "dome", &head.dome());
    check(&head, "two radii", &head.two_radii());
    check(&head, "scan", &head.scanned());
}

#[test]
fn a_head_blended_of_several_shapes_lands_as_its_sheets_say() {
    let head = Head::read("blended");
    check(&head, "dome", &head.dome());
    check(&head, "two radii", &head.two_radii());
    check(&head, "scan", &head.scanned());
}

/// Ways over what was read of the scans, roughness and all, against the true ones.
#[test]
fn ways_over_the_scans_are_those_over_the_heads() {
    for name in ["carved", "blended"] {
        let head = Head::read(name);
        let fitted = head.fitted();
        let surface = Surface::Scan(ScanFace::new(fitted.patch.clone()).unwrap());
        let at = |k: usize| {
            let [u, v] = fitted.marks[k].uv_mm;
            Point2::<Face>::from_mm(u, v)
        };
        let mut worst: f64 = 0.0;
        for (i, from) in NAMES.iter().enumerate() {
            for (j, to) in NAMES.iter().enumerate().skip(i + 1) {
                let over = surface.over_surface(at(i), at(j), 0).unwrap().mm;
                let truth = number(&head.truth["over"][format!("{from} {to}")]);
                worst = worst.max((over - truth).abs());
            }
        }
        println!(
            "{name}: ways over the scan within {worst:.3} mm of the true ones, smoothed over {:.1} mm, moved {:.3}",
            fitted.patch.smoothed_over_mm, fitted.patch.moved_most_mm
        );
        assert!(worst < 0.05, "{name}: {worst}");
    }
}
