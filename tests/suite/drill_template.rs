//! The drill template of a fixing, read back from its own SVG and held against plane trigonometry,
//! the geometry of a ball, and handbook tables that know nothing of this program.
#![allow(
    clippy::unwrap_used,
    clippy::unreachable,
    reason = "a test stops where something is missing"
)]

use samespot_core::answer::{Ask, Desk, FileKind, Reply, Request, answer};
use samespot_core::job::*;
use samespot_core::prepare::holes::{CAUTIONS, FixingView};
use samespot_core::prepare::{Source, issue, prepare_sheet, print_is_stale, staleness};
use samespot_core::sheet::Paper;
use samespot_core::units::{Angle, Length};
use samespot_core::write::job::Attachments;
use samespot_tests::jobs::{Script, id, mm};
use std::collections::BTreeMap;

const EXAMPLE: &[u8] = include_bytes!("../../public/examples/quay-puffins.samespot");

/// Large enough for every template here on one sheet.
const PAPER: Paper = Paper::Typed {
    width: Length::from_mm(594.0),
    height: Length::from_mm(420.0),
};

/// Middle and radius of every named circle of an SVG, x to the right and y up, mm; read by roxmltree.
fn circles(svg: &[u8]) -> BTreeMap<String, (f64, f64, f64)> {
    let text = core::str::from_utf8(svg).unwrap();
    let doc = roxmltree::Document::parse(text).unwrap();
    let number =
        |n: &roxmltree::Node<'_, '_>, name| n.attribute(name).unwrap().parse::<f64>().unwrap();
    doc.descendants()
        .filter(|n| n.has_tag_name("circle"))
        .filter_map(|n| {
            let title = n.children().find(|c| c.has_tag_name("title"))?;
            let at = (number(&n, "cx"), -number(&n, "cy"), number(&n, "r"));
            Some((title.text()?.to_owned(), at))
        })
        .collect()
}

fn svg(desk: &mut Desk, job: &JobId, fixing: &str, piece: &str) -> Vec<u8> {
    let ask = Ask::File {
        job: job.clone(),
        kind: FileKind::Svg,
        of: Some(SheetOf::Fixing(id(fixing))),
        pieces: vec![id(piece)],
        paper: PAPER,
        day: "2026-11-26".into(),
    };
    let answer = answer(desk, Request { number: 1, ask });
    match answer.says.unwrap() {
        Reply::File { media, printed, .. } => {
            assert_eq!(media, "image/svg+xml", "one page");
            assert_eq!(printed.len(), 1);
            assert_eq!(printed[0].of, SheetOf::Fixing(id(fixing)));
        }
        other => unreachable!("{other:?}"),
    }
    answer.bytes
}

/// A flat face with A, B on a line and C above, a casting 3 mm longer from A to B, and a fixing.
fn flat_job(right: f64, pattern: HolePattern, edit: FixingEdit) -> Script {
    let mut s = Script::one_face(FaceShape::Flat, &["a", "b", "c"], 2);
    for (casting, long) in [("pattern", 300.0_f64), ("c1", 303.0), ("c2", 303.0)] {
        s.over(casting, "a", "b", long);
        s.over(casting, "a", "c", 100.0_f64.hypot(120.0));
        s.over(casting, "b", "c", (long - 100.0).hypot(120.0));
    }
    s.set(
        EntityRef::Mark(id("c")),
        &MarkEdit {
            side: Some(LineSide::Above),
            ..MarkEdit::default()
        },
    );
    s.set(
        EntityRef::Fixing(id("bolts")),
        &FixingEdit {
            name: Some("Bolts".into()),
            thread: Some("M8".into()),
            face: Some(id("face")),
            rule: Some(RuleSpec::Line {
                from: id("a"),
                to: id("b"),
                side: Some(id("c")),
                along: Follow::DifferenceSplit,
                across: None,
            }),
            from: Some(id("c")),
            right: Some(mm(right)),
            up: Some(mm(-60.0)),
            pattern: Some(pattern),
            ..edit
        },
    );
    s
}

fn opened(s: Script) -> (Desk, JobId) {
    let mut desk = Desk::default();
    let job = desk.take(samespot_core::read::job::Opened {
        ledger: s.ledger,
        attachments: s.attachments,
        notes: Vec::new(),
    });
    (desk, job)
}

fn flat_circles(
    right: f64,
    pattern: HolePattern,
    edit: FixingEdit,
) -> BTreeMap<String, (f64, f64, f64)> {
    let (mut desk, job) = opened(flat_job(right, pattern, edit));
    circles(&svg(&mut desk, &job, "bolts", "p1"))
}

fn rectangle() -> HolePattern {
    HolePattern::Rectangle {
        across: mm(70.0),
        up: mm(45.0),
    }
}

/// From one circle to another, mm.
fn way(all: &BTreeMap<String, (f64, f64, f64)>, from: &str, to: &str) -> (f64, f64) {
    let (a, b) = (all[from], all[to]);
    (b.0 - a.0, b.1 - a.1)
}

#[test]
fn holes_lie_on_a_flat_sheet_as_plane_trigonometry_has_them() {
    let all = flat_circles(40.0, rectangle(), FixingEdit::default());
    // The drawing has the middle 140 along, 60 above A–B, 300 long. This casting's line is 303
    // long, the difference split: 1.5 further along. Holes: lower left, lower right, and round.
    let middle = (140.0 + 1.5, 60.0);
    let marks = [
        ("A", (0.0, 0.0)),
        ("B", (303.0, 0.0)),
        ("C", (100.0, 120.0)),
    ];
    let corners = [(-35.0, -22.5), (35.0, -22.5), (35.0, 22.5), (-35.0, 22.5)];
    for (k, corner) in corners.iter().enumerate() {
        let hole = (middle.0 + corner.0, middle.1 + corner.1);
        for (letter, at) in marks {
            let (x, y) = way(&all, letter, &format!("hole {}", k + 1));
            let by_hand = f64::hypot(hole.0 - at.0, hole.1 - at.1);
            // Whole micrometres on the sheet; readings are met to far less.
            assert!(
                (x.hypot(y) - by_hand).abs() < 0.003,
                "hole {} from {letter}: {} on the sheet, {by_hand} by hand",
                k + 1,
                x.hypot(y)
            );
        }
    }
    // Not mirrored: from A to B to hole 3 runs anticlockwise, seen from outside.
    let (b, h) = (way(&all, "A", "B"), way(&all, "A", "hole 3"));
    assert!(b.0 * h.1 - b.1 * h.0 > 0.0);
}

#[test]
fn a_fixing_moved_by_14_moves_its_crosses_by_14_and_nothing_else() {
    let before = flat_circles(40.0, rectangle(), FixingEdit::default());
    let after = flat_circles(26.0, rectangle(), FixingEdit::default());
    // Along A–B, whichever way the sheet lies: the line of the rule is across.
    for n in 1..=4 {
        let hole = format!("hole {n}");
        let (was, is) = (way(&before, "A", &hole), way(&after, "A", &hole));
        assert!((is.0 - was.0 + 14.0).abs() < 0.0015, "{was:?} {is:?}");
        assert!((is.1 - was.1).abs() < 0.0015, "{was:?} {is:?}");
    }
    let (was, is) = (way(&before, "A", "B"), way(&after, "A", "B"));
    assert!((is.0 - was.0).abs() < 0.0015 && (is.1 - was.1).abs() < 0.0015);
}

/// CHECKS I4, I5 (Machinery's Handbook, hole coordinates for jig boring, type A): of a circle of
/// diameter 1, from its upper left tangents, y down; the first hole at the top.
#[test]
fn bolt_circles_are_the_handbooks() {
    let five = [
        (0.50000, 0.00000),
        (0.97553, 0.34549),
        (0.79389, 0.90451),
        (0.20611, 0.90451),
        (0.02447, 0.34549),
    ];
    let seven = [
        (0.50000, 0.00000),
        (0.89092, 0.18826),
        (0.98746, 0.61126),
        (0.71694, 0.95048),
        (0.28306, 0.95048),
        (0.01254, 0.61126),
        (0.10908, 0.18826),
    ];
    let diameter = 80.0;
    for table in [&five[..], &seven[..]] {
        let pattern = HolePattern::BoltCircle {
            count: u32::try_from(table.len()).unwrap(),
            diameter: mm(diameter),
            first: None,
        };
        // The first hole lies to the right; a quarter turn brings it to the top.
        let turned = FixingEdit {
            turn: Some(Angle::from_deg(90.0)),
            ..FixingEdit::default()
        };
        let all = flat_circles(40.0, pattern, turned);
        let (a, b) = (all["A"], all["B"]);
        // Back to the axes of the line A–B, from the middle of the pattern.
        let long = (b.0 - a.0).hypot(b.1 - a.1);
        let along = ((b.0 - a.0) / long, (b.1 - a.1) / long);
        let seen = |name: &str| {
            let (x, y) = way(&all, "A", name);
            let (u, v) = (x * along.0 + y * along.1, y * along.0 - x * along.1);
            (u - 141.5 + diameter / 2.0, diameter / 2.0 - (v - 60.0))
        };
        let found: Vec<(f64, f64)> = (1..=table.len())
            .map(|n| seen(&format!("hole {n}")))
            .collect();
        // The table runs clockwise, holes are numbered anticlockwise.
        for (k, &(x, y)) in table.iter().enumerate() {
            let (u, v) = found[(table.len() - k) % table.len()];
            // Five decimals of the table, whole micrometres of the sheet.
            let near = |one: f64, other: f64| (one - other * diameter).abs() < 0.003;
            assert!(near(u, x) && near(v, y), "{k}: {u} {v}, table {x} {y}");
        }
    }
}

/// CHECKS G1 (ISO 273:1979), G7 (ISO 2306): what is drawn round a hole is its drill.
#[test]
fn every_circle_is_the_drill_of_its_thread() {
    type Row = (&'static str, [f64; 3], f64);
    let table: [Row; 6] = [
        ("M6", [6.4, 6.6, 7.0], 5.0),
        ("M8", [8.4, 9.0, 10.0], 6.8),
        ("M10", [10.5, 11.0, 12.0], 8.5),
        ("M12", [13.0, 13.5, 14.5], 10.2),
        ("M16", [17.0, 17.5, 18.5], 14.0),
        ("M20", [21.0, 22.0, 24.0], 17.5),
    ];
    let drawn = |thread: &str, purpose, width| {
        let mut s = flat_job(40.0, HolePattern::Single, FixingEdit::default());
        s.set(
            EntityRef::Fixing(id("bolts")),
            &FixingEdit {
                thread: Some(thread.to_owned()),
                purpose: Some(purpose),
                width: Some(width),
                ..FixingEdit::default()
            },
        );
        let (mut desk, job) = opened(s);
        circles(&svg(&mut desk, &job, "bolts", "p1"))["hole 1"].2 * 2.0
    };
    for (thread, widths, tapping) in table {
        let all = [HoleWidth::Fine, HoleWidth::Medium, HoleWidth::Coarse];
        for (width, mm) in all.into_iter().zip(widths) {
            let across = drawn(thread, HolePurpose::Bolt, width);
            assert!((across - mm).abs() < 1e-9, "{thread} {width:?}: {across}");
        }
        let pilot = drawn(thread, HolePurpose::Pilot, HoleWidth::Medium);
        assert!((pilot - tapping).abs() < 1e-9, "{thread}: {pilot}");
    }
}

fn example() -> (Desk, JobId) {
    let mut desk = Desk::default();
    let job = desk.take(samespot_core::read::job::open(EXAMPLE).unwrap());
    (desk, job)
}

fn bracket(desk: &mut Desk, job: &JobId, piece: &str) -> FixingView {
    let ask = Ask::Holes {
        job: job.clone(),
        piece: id(piece),
    };
    match answer(desk, Request { number: 1, ask }).says.unwrap() {
        Reply::Holes(view) => view.fixings[0].clone(),
        other => unreachable!("{other:?}"),
    }
}

/// The bracket is flat and stands on a ball: over the ball a hole d from its axis lies
/// R asin(d / R) from the middle, and a sheet of thickness t outside it is longer by t / 2R.
#[test]
fn on_a_ball_the_holes_lie_where_its_geometry_has_them() {
    let (mut desk, job) = example();
    let folded = samespot_core::read::job::open(EXAMPLE)
        .unwrap()
        .ledger
        .fold();
    let attachments = Attachments::default();
    let source = Source {
        job: &folded,
        attachments: &attachments,
    };
    for piece in ["p3", "p7", "p12"] {
        let all = circles(&svg(&mut desk, &job, "bracket", piece));
        let view = bracket(&mut desk, &job, piece);
        let half = 35.0_f64.hypot(22.5);
        let radius = half / view.holes[0].lean.rad().sin();
        let paper = 0.1;
        let over = radius * (half / radius).asin() * (1.0 + paper / (2.0 * radius));
        for (one, other) in [("hole 1", "hole 3"), ("hole 2", "hole 4")] {
            let (x, y) = way(&all, one, other);
            assert!(
                (x.hypot(y) - 2.0 * over).abs() < 0.003,
                "{piece}: {} {over}",
                x.hypot(y)
            );
        }
        // The rectangle's own slope is kept by a polar map about its middle.
        let (x, y) = way(&all, "hole 1", "hole 3");
        assert!((y / x - 45.0 / 70.0).abs() < 1e-4, "{piece}");
        // A mark off the middle is off by what flat paper is eased by there, and by its thickness.
        let prepared = prepare_sheet(&source, &SheetOf::Fixing(id("bracket")), &id(piece)).unwrap();
        for (mark, cross) in view.marks.iter().zip(&prepared.crosses) {
            assert_eq!(mark.letter, cross.letter);
            let (x, y) = way(&all, "hole 1", &mark.letter);
            let hole = view.holes[0].at;
            let off = (
                x - (mark.at.0 - hole.0).mm() - cross.eased.x_mm(),
                y - (mark.at.1 - hole.1).mm() - cross.eased.y_mm(),
            );
            assert!(
                off.0.hypot(off.1) < 0.06,
                "{piece} {}: {off:?}",
                mark.letter
            );
        }
    }
}

#[test]
fn the_sheet_says_what_a_fitter_needs_before_he_drills() {
    let opened = samespot_core::read::job::open(EXAMPLE).unwrap();
    let (job, attachments) = (opened.ledger.fold(), Attachments::default());
    let source = Source {
        job: &job,
        attachments: &attachments,
    };
    let of = SheetOf::Fixing(id("bracket"));
    let made = issue(&source, &of, &id("p7"), Paper::A4, "2026-11-26").unwrap();
    let said = made.drawing.readable.join("\n");
    for caution in CAUTIONS {
        assert!(said.contains(caution), "{caution}");
    }
    for words in [
        "THIS SIDE OUT",
        "UP",
        "SIZE NOT PROVED: MEASURE BOTH BARS",
        "for a competent, licensed person under the local code",
        "4 holes, drill 12 mm: clears M10, coarse (ISO 273)",
        "leans 10° up and right",
        "The drawing's own drill template laid on piece 7",
        "hole 1: Ø 12",
    ] {
        assert!(said.contains(words), "{words}:\n{said}");
    }
    // The worst hole is the sheet's worst, and every hole has its own causes.
    let holes = &made.prepared.holes;
    assert_eq!(holes.len(), 4);
    let worst = holes
        .iter()
        .map(|h| h.budget.worst.mm())
        .fold(0.0, f64::max);
    assert!((worst - made.prepared.budget.worst.mm()).abs() < 1e-9);
    for hole in holes {
        let line = hole.error_words();
        assert!(line.contains("drilling") && said.contains(&line), "{line}");
    }
    // Errors at a hole: a bound of 0.6 each way is 0.6/√3 (JCGM 100 4.3.7), 95 % of a round
    // spread lie within 2.4477 of it (CHECKS D10).
    let drilling = holes[0]
        .budget
        .terms
        .iter()
        .find(|t| t.kind.name() == "drilling")
        .unwrap();
    assert!((drilling.size.mm() - 2.4477 * 0.6 / 3.0_f64.sqrt()).abs() < 1e-3);
}

#[test]
fn left_and_right_stand_on_it() {
    let handed = FixingEdit {
        hand: Some(Hand::Left),
        ..FixingEdit::default()
    };
    let s = flat_job(40.0, rectangle(), handed);
    let job = s.ledger.fold();
    let source = Source {
        job: &job,
        attachments: &s.attachments,
    };
    let made = issue(
        &source,
        SheetOf::Fixing(id("bolts")),
        &id("p1"),
        Paper::A3,
        "",
    )
    .unwrap();
    assert!(made.drawing.readable.iter().any(|l| l == "LEFT BOLTS"));
}

#[test]
fn a_print_goes_stale_by_its_reference_and_says_why() {
    let s = flat_job(40.0, rectangle(), FixingEdit::default());
    let of = SheetOf::Fixing(id("bolts"));
    let looking = |s: &Script, f: &dyn Fn(&Source<'_>) -> Option<String>| {
        let job = s.ledger.fold();
        f(&Source {
            job: &job,
            attachments: &s.attachments,
        })
    };
    let mut s = s;
    let printed = {
        let job = s.ledger.fold();
        let source = Source {
            job: &job,
            attachments: &s.attachments,
        };
        issue(&source, &of, &id("p1"), Paper::A3, "2026-11-26")
            .unwrap()
            .printed("2026-11-26")
    };
    s.say(&Payload::Printed(printed.clone()));
    assert_eq!(looking(&s, &|j| staleness(j, &of, &id("p1"))), None);
    // A feature of the same name has no part in it.
    assert_eq!(
        looking(&s, &|j| staleness(j, &id::<FeatureId>("spot"), &id("p1"))),
        None
    );
    s.over("c1", "a", "b", 305.0);
    let why = looking(&s, &|j| print_is_stale(j, &printed, &id("p1"))).unwrap();
    assert!(
        why.contains("readings changed") && why.contains("Scrap it"),
        "{why}"
    );
    s.set(
        EntityRef::Fixing(id("bolts")),
        &FixingEdit {
            right: Some(mm(26.0)),
            ..FixingEdit::default()
        },
    );
    let why = looking(&s, &|j| staleness(j, &of, &id("p1"))).unwrap();
    assert!(why.contains("the design changed"), "{why}");
}

#[test]
fn a_fixing_that_says_too_little_is_refused_in_words() {
    let mut s = flat_job(40.0, rectangle(), FixingEdit::default());
    s.set(
        EntityRef::Fixing(id("bolts")),
        &FixingEdit {
            thread: Some("M11.5".into()),
            ..FixingEdit::default()
        },
    );
    let job = s.ledger.fold();
    let source = Source {
        job: &job,
        attachments: &s.attachments,
    };
    let why = issue(
        &source,
        SheetOf::Fixing(id("bolts")),
        &id("p1"),
        Paper::A4,
        "",
    )
    .unwrap_err();
    assert!(why.to_string().starts_with("Bolts: "), "{why}");
    let why = issue(
        &source,
        SheetOf::Fixing(id("nails")),
        &id("p1"),
        Paper::A4,
        "",
    )
    .unwrap_err();
    assert!(why.to_string().contains("has not been set up yet"), "{why}");
}
