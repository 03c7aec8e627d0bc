//! Plan and height on a gridded board: set-ups tied by three marks, faces placed by them, and the
//! board's own sheets.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test stops where it fails"
)]

use samespot_core::frames::{NotTied, Part, Point3, best_fit, carried_out_by};
use samespot_core::job::*;
use samespot_core::prepare::Source;
use samespot_core::prepare::setout::{BoardView, board_sheet, board_view};
use samespot_core::sheet::Paper;
use samespot_core::sheet::drawing::{Meaning, Shape};
use samespot_core::units::Length;
use samespot_core::write::pdf::{Part as PdfPart, pdf};
use samespot_tests::jobs::{Script, id, point};

fn p(at: [f64; 3]) -> Point3<Part> {
    Point3::from_mm(at[0], at[1], at[2])
}

/// Numbers from a seed: even in 0–1, and normal.
struct Chance(u64);

impl Chance {
    fn even(&mut self) -> f64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        (self.0.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 11) as f64 / (1_u64 << 53) as f64
    }
    fn normal(&mut self) -> f64 {
        let (a, b) = (self.even().max(1e-300), self.even());
        (-2.0 * a.ln()).sqrt() * (core::f64::consts::TAU * b).cos()
    }
    fn off(&mut self, at: [f64; 3], sd: f64) -> [f64; 3] {
        at.map(|x| x + sd * self.normal())
    }
}

/// B6 (checks; ISO 5459:2011, exact by construction): six contacts as marks known in both frames
/// carry the seventh place.
#[test]
fn the_frame_of_six_contacts_carries_the_target() {
    let t = 1.0 / 3.0;
    let pairs = [
        ([10.0, -20.0, 30.0], [0.0, 0.0, 0.0]),
        ([230.0 * t, 140.0 * t, -10.0 * t], [100.0, 0.0, 0.0]),
        ([-70.0 * t, 140.0 * t, 290.0 * t], [0.0, 100.0, 0.0]),
        ([30.0, -20.0, 40.0], [10.0, 0.0, 20.0]),
        ([250.0 * t, 100.0 * t, 40.0 * t], [90.0, 0.0, 20.0]),
        ([20.0 * t, 20.0 * t, 230.0 * t], [0.0, 50.0, 20.0]),
    ]
    .map(|(world, frame)| (p(world), p(frame)));
    for some in [&pairs[..], &pairs[..3]] {
        let fit = best_fit(some).unwrap();
        assert!(fit.left.iter().all(|l| l.mm() < 1e-9), "{:?}", fit.left);
        let target = fit.to_from.point(p([60.0, 30.0, 150.0]));
        assert!(
            target.distance(p([140.0, -10.0, 130.0])).mm() < 1e-9,
            "{target:?}"
        );
        let normal = fit.to_from.vector(p([0.0, 0.0, 3.0]) - p([0.0; 3])).mm();
        assert!((normal - nalgebra::Vector3::new(2.0, -1.0, 2.0)).norm() < 1e-12);
    }
    // In one line, or too few, they carry nothing; a mirror image is never reached by a turn.
    let line = [0.0, 50.0, 120.0].map(|x| (p([x, 0.0, 0.0]), p([x, 1.0, 0.0])));
    assert_eq!(best_fit(&line).unwrap_err(), NotTied::InLine);
    assert_eq!(best_fit(&pairs[..2]).unwrap_err(), NotTied::Few);
    let mirrored = pairs.map(|(to, from)| {
        let m = from.mm();
        (to, p([-m.x, m.y, m.z]))
    });
    assert!(best_fit(&mirrored).unwrap().square_mm2() > 100.0);
}

/// B7 (checks; Fitzpatrick, West and Maurer 1998): the formula against layings by chance.
#[test]
fn what_a_best_fit_carries_is_out_by_what_the_formula_says() {
    let marks = [
        [100.0, 100.0],
        [100.0, -100.0],
        [-100.0, 100.0],
        [-100.0, -100.0],
    ]
    .map(|[x, y]| [x, y, 0.0]);
    let sd = 0.5;
    let found = Length::from_mm(sd * 3.0_f64.sqrt());
    let on = marks.map(p);
    let spots = [[0.0, 0.0, 0.0], [250.0, 0.0, 0.0], [60.0, -40.0, 180.0]];
    // By hand: f² = 100², 100², 2·100²; FLE² = 0.75, N = 4.
    let by_hand =
        |d2: [f64; 3]| 0.75 / 4.0 * (1.0 + (d2[0] / 1e4 + d2[1] / 1e4 + d2[2] / 2e4) / 3.0);
    let wanted = [
        by_hand([0.0; 3]),
        by_hand([0.0, 62_500.0, 62_500.0]),
        by_hand([1600.0 + 32_400.0, 3600.0 + 32_400.0, 3600.0 + 1600.0]),
    ];
    for (spot, wanted) in spots.iter().zip(wanted) {
        let said = carried_out_by(&on, found, p(*spot)).unwrap().mm();
        assert!((said * said - wanted).abs() < 1e-12, "{spot:?}: {said}");
    }
    let mut chance = Chance(0x5EED);
    let cases = 20_000;
    let (mut out, mut left) = ([0.0; 3], 0.0);
    for _ in 0..cases {
        let pairs = marks.map(|m| (p(chance.off(m, sd)), p(m)));
        let fit = best_fit(&pairs).unwrap();
        left += fit.square_mm2() / 4.0;
        for (sum, spot) in out.iter_mut().zip(spots) {
            *sum += fit.to_from.point(p(spot)).distance(p(spot)).mm().powi(2);
        }
    }
    let n = f64::from(cases);
    for (sum, wanted) in out.iter().zip(wanted) {
        assert!(
            (sum / n / wanted - 1.0).abs() < 0.03,
            "{} {wanted}",
            sum / n
        );
    }
    // What is left at the marks themselves: (1 − 2/N)·FLE².
    assert!((left / n / (0.5 * 0.75) - 1.0).abs() < 0.03, "{}", left / n);
    assert_eq!(carried_out_by(&on[..2], found, p([0.0; 3])), None);
}

fn place(s: &mut Script, mark: &str, stood: u32, at: [f64; 3]) {
    let axes = [BoardAxis::Across, BoardAxis::Back, BoardAxis::Up];
    for (axis, value) in axes.into_iter().zip(at) {
        let of = Measured::Board {
            of: point(mark),
            axis,
            stood,
        };
        s.read("pattern", of, value);
    }
}

/// A front face and, round the corner, one to the figure's left; both 400 by 300, marks A B C D and
/// E F G H at their corners.
fn block() -> Script {
    let mut s = Script::one_face(FaceShape::Flat, &["a", "b", "c", "d"], 1);
    s.set(
        EntityRef::Face(id("side")),
        &FaceEdit {
            part: Some(id("part")),
            name: Some("side".into()),
            shape: Some(FaceShape::Flat),
            seen_from: Some("from wherever the file says".into()),
        },
    );
    for mark in ["e", "f", "g", "h"] {
        s.set(
            EntityRef::Mark(id(mark)),
            &MarkEdit {
                face: Some(id("side")),
                letter: Some(mark.to_uppercase()),
                ..MarkEdit::default()
            },
        );
    }
    for mark in ["c", "d", "g", "h"] {
        s.set(
            EntityRef::Mark(id(mark)),
            &MarkEdit {
                side: Some(LineSide::Above),
                ..MarkEdit::default()
            },
        );
    }
    for [a, b, c, d] in [["a", "b", "c", "d"], ["e", "f", "g", "h"]] {
        for (from, to, value) in [
            (a, b, 400.0),
            (a, c, 300.0),
            (b, c, 500.0),
            (b, d, 300.0),
            (a, d, 500.0),
            (c, d, 400.0),
        ] {
            s.over("pattern", from, to, value);
        }
    }
    s.over("pattern", "a", "spot", 250.0);
    s.over("pattern", "b", "spot", 250.0);
    s
}

/// Where the marks are in the first set-up: the front face stands at 100 back from x 100 to 500; the
/// side face at x 500, seen from +x with E in front.
const AT: [(&str, [f64; 3]); 8] = [
    ("a", [100.0, 100.0, 50.0]),
    ("b", [500.0, 100.0, 50.0]),
    ("c", [100.0, 100.0, 350.0]),
    ("d", [500.0, 100.0, 350.0]),
    ("e", [500.0, 100.0, 60.0]),
    ("f", [500.0, 500.0, 60.0]),
    ("g", [500.0, 100.0, 360.0]),
    ("h", [500.0, 500.0, 360.0]),
];

fn at(mark: &str) -> [f64; 3] {
    AT.iter().find(|m| m.0 == mark).unwrap().1
}

/// The same once it was laid on its back and pushed aside.
fn moved([x, y, z]: [f64; 3]) -> [f64; 3] {
    [x + 40.0, 700.0 - z, y + 15.0]
}

fn look(s: &Script) -> BoardView {
    let job = s.ledger.fold();
    assert!(job.problems.is_empty(), "{:?}", job.problems);
    let source = Source {
        job: &job,
        attachments: &s.attachments,
    };
    board_view(&source, &id("part")).unwrap()
}

fn face<'a>(view: &'a BoardView, name: &str) -> &'a samespot_core::prepare::setout::FaceOnBoard {
    view.faces.iter().find(|f| f.name == name).unwrap()
}

#[test]
fn faces_are_where_the_board_has_them_and_seen_from_there() {
    let mut s = block();
    let view = look(&s);
    assert_eq!(face(&view, "face").seen, None);
    assert!(face(&view, "face").says.contains("read three of its marks"));
    for mark in ["a", "b", "c", "d"] {
        place(&mut s, mark, 0, at(mark));
    }
    let view = look(&s);
    assert_eq!(face(&view, "face").seen.as_deref(), Some("from the front"));
    assert_eq!(face(&view, "side").seen, None);
    // Two of the side's marks are not enough; laid over, it shows the third.
    place(&mut s, "e", 0, at("e"));
    place(&mut s, "f", 0, at("f"));
    assert!(face(&look(&s), "side").says.contains("So far E and F"));
    for mark in ["a", "b", "g"] {
        place(&mut s, mark, 1, moved(at(mark)));
    }
    let view = look(&s);
    assert!(
        view.ties[0].contains("Set-up 2 is not tied yet"),
        "{:?}",
        view.ties
    );
    assert!(view.ties[0].contains("So far A and B"), "{:?}", view.ties);
    assert_eq!(face(&view, "side").seen, None);
    place(&mut s, "c", 1, moved(at("c")));
    let view = look(&s);
    assert!(
        view.ties[0].contains("Set-up 2 is tied by A, B and C"),
        "{:?}",
        view.ties
    );
    assert_eq!(
        face(&view, "side").seen.as_deref(),
        Some("from the figure's left")
    );
    assert_eq!(face(&view, "face").seen.as_deref(), Some("from the front"));
}

fn up_of(s: &Script) -> Option<samespot_core::prepare::setout::UpView> {
    let job = s.ledger.fold();
    let source = Source {
        job: &job,
        attachments: &s.attachments,
    };
    let view = samespot_core::prepare::setout::face_view(&source, &id("face")).unwrap();
    view.up
}

/// The front face turned by 2° on its own plane: A–B rises 400·sin 2° = 13.96, so that from A–B to up
/// there are 88° (by hand).
#[test]
fn three_heights_say_which_way_is_up() {
    let mut s = block();
    let (sin, cos) = 2.0_f64.to_radians().sin_cos();
    let height = |x: f64, y: f64| 50.0 + x * sin + y * cos;
    let marks = [
        ("a", height(0.0, 0.0)),
        ("b", height(400.0, 0.0)),
        ("c", height(0.0, 300.0)),
    ];
    for (k, (mark, up)) in marks.into_iter().enumerate() {
        assert_eq!(up_of(&s), None, "{k} heights");
        let of = Measured::Board {
            of: point(mark),
            axis: BoardAxis::Up,
            stood: 0,
        };
        s.read("pattern", of, up);
    }
    let up = up_of(&s).unwrap();
    // One millimetre each at 400 apart: 0.2° either way.
    assert!(
        (up.towards_rad.to_degrees().rem_euclid(360.0) - 88.0).abs() < 0.2,
        "{}",
        up.towards_rad.to_degrees()
    );
    assert!(
        up.sentence.contains("A–B rises 2.0° towards B"),
        "{}",
        up.sentence
    );
    assert!(
        up.sentence.contains("by heights on the board"),
        "{}",
        up.sentence
    );
    // Where the tape has the marks is as it was: heights hold no mark.
    let marks = |s: &Script| {
        let job = s.ledger.fold();
        let source = Source {
            job: &job,
            attachments: &s.attachments,
        };
        let view = samespot_core::prepare::setout::face_view(&source, &id("face")).unwrap();
        view.marks
    };
    assert_eq!(marks(&s), marks(&block()));
    // Another set-up says nothing: it lies as it was moved. A height that is out says nothing either.
    let mut aside = block();
    let mut out = block();
    for (mark, up) in [("a", 50.0), ("b", 50.0), ("c", 350.0), ("d", 350.0)] {
        for (s, stood, up) in [
            (&mut aside, 1, up),
            (&mut out, 0, if mark == "d" { up + 60.0 } else { up }),
        ] {
            let of = Measured::Board {
                of: point(mark),
                axis: BoardAxis::Up,
                stood,
            };
            s.read("pattern", of, up);
        }
    }
    assert_eq!(up_of(&aside), None);
    assert_eq!(up_of(&out), None);
}

/// Along a line 45° off straight on a circle of 60 is 60 high on the face and 60/cos 45° across.
#[test]
fn a_drawing_seen_when_one_mark_hides_another_is_carried_along_that_line() {
    let mut s = block();
    for (mark, at) in AT {
        place(&mut s, mark, 0, at);
    }
    let seen = |s: &mut Script, nearer: &str, hidden: &str| {
        s.set(
            EntityRef::Feature(id("spot")),
            &FeatureEdit {
                seen: Some(SeenFrom::Hides {
                    nearer: id(nearer),
                    hidden: id(hidden),
                }),
                ..FeatureEdit::default()
            },
        );
        for (from, to, value) in [("a", "b", 400.0), ("a", "c", 300.0), ("b", "c", 500.0)] {
            s.over("c1", from, to, value);
        }
        let job = s.ledger.fold();
        let source = Source {
            job: &job,
            attachments: &s.attachments,
        };
        samespot_core::prepare::prepare(&source, &id("spot"), &id("p1")).map_err(|e| e.to_string())
    };
    // A at (100, 100, 50) hides F at (500, 500, 60): 400 across, 400 back, 10 up. Seen from there a
    // length across is cos 45° of itself on the face: 60 is 60·√2 = 84.85 (and 10 in 566 of height).
    let p = seen(&mut s, "a", "f").unwrap();
    let bounds = p.paint_edge.bounds().unwrap();
    let (low, high) = (bounds.min, bounds.max);
    let wide = high.x_mm() - low.x_mm();
    assert!((wide - 84.85).abs() < 0.15, "{wide}");
    assert!(
        (high.y_mm() - low.y_mm() - 60.0).abs() < 1.0,
        "{}",
        high.y_mm() - low.y_mm()
    );
    // A mark that is not on the board is asked for; two that lie together say nothing.
    let near = seen(&mut s, "d", "g").unwrap_err();
    assert!(near.contains("within 50 mm of each other"), "{near}");
    let mut bare = block();
    let none = seen(&mut bare, "a", "f").unwrap_err();
    assert!(none.contains("Plan and height"), "{none}");
}

#[test]
fn a_mark_that_does_not_fit_is_named() {
    let mut s = block();
    for mark in ["a", "b", "c", "d", "e"] {
        place(&mut s, mark, 0, at(mark));
    }
    for mark in ["a", "b", "c", "d", "f"] {
        let mut there = moved(at(mark));
        // A centimetre and more miscounted on the grid.
        there[0] += if mark == "c" { 20.0 } else { 0.0 };
        place(&mut s, mark, 1, there);
    }
    let says = look(&s).ties.join("; ");
    assert!(
        says.contains("Set-up 2 is not tied: C does not fit"),
        "{says}"
    );
    assert!(says.contains("20 mm away"), "{says}");
    // With three nothing tells which, but the distance is named.
    let mut s = block();
    for mark in ["a", "b", "c"] {
        place(&mut s, mark, 0, at(mark));
        let mut there = moved(at(mark));
        there[0] += if mark == "b" { 20.0 } else { 0.0 };
        place(&mut s, mark, 1, there);
    }
    let says = look(&s).ties.join("; ");
    assert!(says.contains("A–B differs by 20 mm"), "{says}");
    // Tape against board: a face whose marks are not as far apart as the tape has them.
    let mut s = block();
    for mark in ["a", "b", "c", "d"] {
        let mut there = at(mark);
        there[2] += if mark == "d" { 25.0 } else { 0.0 };
        place(&mut s, mark, 0, there);
    }
    let view = look(&s);
    assert_eq!(face(&view, "face").seen, None);
    assert!(
        face(&view, "face").says.contains("D does not fit"),
        "{:?}",
        view.faces
    );
}

#[test]
fn half_a_place_is_asked_for_and_old_words_stay_where_nothing_is_known() {
    let mut s = block();
    s.read(
        "pattern",
        Measured::Board {
            of: point("a"),
            axis: BoardAxis::Across,
            stood: 0,
        },
        100.0,
    );
    let view = look(&s);
    assert_eq!(view.ties, ["Set-up 1: A wants its back and height"]);
    // The board's readings are no part of what the tape holds: the sheets stand as they were.
    let job = s.ledger.fold();
    let source = Source {
        job: &job,
        attachments: &s.attachments,
    };
    let walk = samespot_core::prepare::walk::walk(&source, &id("c1")).unwrap();
    let side = walk.faces.iter().find(|f| f.name == "side").unwrap();
    assert_eq!(
        side.seen_from.as_deref(),
        Some("from wherever the file says")
    );
    assert_eq!(
        face(&view, "face").says,
        "face: read three of its marks on the board"
    );
}

#[test]
fn the_walk_and_the_sheet_say_from_where_a_face_is_seen() {
    let mut s = block();
    for (mark, at) in AT {
        place(&mut s, mark, 0, at);
    }
    for (from, to, value) in [("a", "b", 400.0), ("a", "c", 300.0), ("b", "c", 500.0)] {
        s.over("c1", from, to, value);
    }
    let job = s.ledger.fold();
    let source = Source {
        job: &job,
        attachments: &s.attachments,
    };
    let walk = samespot_core::prepare::walk::walk(&source, &id("c1")).unwrap();
    let seen: Vec<_> = walk
        .faces
        .iter()
        .map(|f| f.seen_from.clone().unwrap())
        .collect();
    assert_eq!(seen, ["from the front", "from the figure's left"]);
    // The table keeps them.
    let all: Vec<_> = job.readings.iter().map(|r| r.says.clone()).collect();
    let text = samespot_core::write::table::readings(&all);
    assert_eq!(samespot_core::read::table::read_own(&text).unwrap(), all);
}

#[test]
fn the_board_prints_true_to_size_with_its_numbers() {
    let s = block();
    let job = s.ledger.fold();
    let source = Source {
        job: &job,
        attachments: &s.attachments,
    };
    let l = Length::from_mm;
    let drawing = board_sheet(
        &source,
        [l(600.0), l(400.0)],
        l(50.0),
        Paper::A4,
        "2026-11-27",
    )
    .unwrap();
    assert!(drawing.pages.len() >= 6, "{} sheets", drawing.pages.len());
    for page in &drawing.pages {
        let mut upright = Vec::new();
        for item in page
            .items
            .iter()
            .filter(|i| i.meaning == Meaning::CentreLine)
        {
            let Shape::Line(all) = &item.shape else {
                continue;
            };
            upright.extend(
                all.iter()
                    .filter(|c| c.start.x == c.end().x)
                    .map(|c| c.start.x),
            );
        }
        upright.sort_unstable();
        upright.dedup();
        for two in upright.windows(2) {
            assert!(
                (two[1] - two[0] - 50_000).abs() <= 1,
                "{}: {two:?}",
                page.name
            );
        }
    }
    let named: Vec<String> = drawing
        .pages
        .iter()
        .flat_map(|p| &p.items)
        .filter(|i| i.meaning == Meaning::Register)
        .filter_map(|i| i.label.clone())
        .collect();
    for wanted in ["0/0 front", "600/0 front", "300/200", "600/400"] {
        assert!(named.iter().any(|n| n == wanted), "{wanted}: {named:?}");
    }
    // The joined sheets are taped between the outermost crossings alone: 400 by 600 and slantwise.
    let said = drawing.readable.join("\n");
    assert!(said.contains("0/0 front–600/400\u{a0}721.1"), "{said}");
    assert!(!said.contains("–100/0 front"), "{said}");
    let bytes = pdf(
        &drawing.title,
        &[PdfPart {
            bookmark: &drawing.title,
            drawing: &drawing,
        }],
    )
    .unwrap();
    std::fs::write(
        std::path::PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("board.pdf"),
        &bytes,
    )
    .unwrap();
    let file = lopdf::Document::load_mem(&bytes).unwrap();
    assert_eq!(file.get_pages().len(), drawing.pages.len());
    let refused = |size: [f64; 2], every: f64| {
        board_sheet(&source, size.map(l), l(every), Paper::A4, "")
            .unwrap_err()
            .to_string()
    };
    assert!(refused([100.0, 400.0], 50.0).contains("each side is from 200"));
    assert!(refused([600.0, 400.0], 2.0).contains("a grid line every 2 mm"));
}
