//! The holes of the example, with the worth of its numbers worked out again from outside.

#![allow(
    clippy::unwrap_used,
    reason = "a test that fails here should stop here"
)]

use samespot_core::answer::{Ask, Desk, Reply, Request, answer};
use samespot_core::check::{HoleTool, Verdict};
use samespot_core::job::{
    Edit, EntityRef, Entry, FixingEdit, Hand, HoleLayer, JobId, Payload, PieceId, ReplicaId, Writer,
};
use samespot_core::prepare::holes::{
    FixingView, HoleTyped, HoleView, HolesView, SwingView, drill_sheet,
};
use samespot_core::sheet::Paper;
use samespot_core::write::svg::svg_pages;

const FILE: &[u8] = include_bytes!("../../public/examples/quay-puffins.samespot");

fn opened() -> (Desk, JobId) {
    let mut desk = Desk::default();
    let job = desk.take(samespot_core::read::job::open(FILE).unwrap());
    (desk, job)
}

fn view(piece: &str) -> HolesView {
    let (mut desk, job) = opened();
    let ask = Ask::Holes {
        job,
        piece: PieceId::new(piece).unwrap(),
    };
    match answer(&mut desk, Request { number: 1, ask }).says.unwrap() {
        Reply::Holes(view) => *view,
        other => unreachable!("{other:?}"),
    }
}

fn bracket(view: &HolesView) -> &FixingView {
    assert_eq!(view.fixings.len(), 1);
    assert_eq!(view.fixings[0].cannot, None);
    &view.fixings[0]
}

#[test]
fn four_m10_are_found_from_the_marks_of_every_cap() {
    for n in 1..=16 {
        let view = view(&format!("p{n}"));
        let fixing = bracket(&view);
        assert_eq!(fixing.holes.len(), 4, "{n}");
        // ISO 273 coarse: CHECKS G1.
        assert_eq!(fixing.drill.to_um(), 12_000);
        for hole in &fixing.holes {
            let tape = hole.tape.as_ref().unwrap();
            assert!(tape.crossing.deg() >= 30.0, "piece {n}: {tape:?}");
            assert!(tape.check.is_some());
            assert!(hole.within.mm() > 0.2 && hole.within.mm() < 5.0, "{hole:?}");
        }
    }
}

/// A coarse hole for M10 is Ø 12 H14 (ISO 273), 12 to 12.43 (ISO 286-1:2010, table 1: IT14 is 0.43 above
/// 10 up to 18): what is wider is outside, a rule can't tell, and that is said before anything is read, with
/// what can.
#[test]
fn a_width_is_judged_against_h14_and_what_can_tell_is_said_before() {
    let (mut desk, job) = opened();
    let mut width = |across: f64, with: HoleTool| {
        let ask = Ask::JudgeHole {
            job: job.clone(),
            piece: PieceId::new("p7").unwrap(),
            fixing: bracket(&view("p7")).fixing.clone(),
            hole: 1,
            typed: HoleTyped {
                across: Entry::of_mm(across),
                right: Entry::of_mm(0.0),
                up: Entry::of_mm(0.0),
                with,
            },
        };
        match answer(&mut desk, Request { number: 1, ask }).says.unwrap() {
            Reply::HoleJudged(judged) => *judged,
            other => unreachable!("{other:?}"),
        }
    };
    let calipers =
        [11.8, 12.2, 13.0, 30.0].map(|w| width(w, HoleTool::Calipers).found.judged.width);
    let outside = Verdict::Outside;
    assert_eq!(calipers, [outside, Verdict::Within, outside, outside]);
    let by_rule = width(12.2, HoleTool::Rule);
    assert_eq!(by_rule.found.judged.width, Verdict::NotProven);
    assert!(
        by_rule.width.contains("12 to 12.43 mm (H14 of ISO 286-1)"),
        "{}",
        by_rule.width
    );
    let view = view("p7");
    let can_tell = bracket(&view).can_tell.join(" / ");
    assert!(can_tell.contains("Calipers can"), "{can_tell}");
    // What the place's check is good for, and what would settle it, before it is read.
    assert!(
        can_tell.starts_with("Place: a pin and a rule tell it to ±"),
        "{can_tell}"
    );
    if by_rule.found.judged.place.verdict == Verdict::NotProven {
        assert!(
            can_tell.contains("What settles it is the bracket itself"),
            "{can_tell}"
        );
        assert!(by_rule.settle.is_some_and(|s| s.contains("bracket itself")));
    }
}

/// A tape on a ball from its middle: the great circle between two places of the chart about the
/// pattern's middle, by the spherical law of cosines.
fn over_a_ball(radius: f64, a: (f64, f64), b: (f64, f64)) -> f64 {
    let (ra, rb) = (a.0.hypot(a.1) / radius, b.0.hypot(b.1) / radius);
    let between = a.1.atan2(a.0) - b.1.atan2(b.0);
    radius * (ra.cos() * rb.cos() + ra.sin() * rb.sin() * between.cos()).acos()
}

#[test]
fn swings_and_leans_agree_with_the_geometry_of_a_ball() {
    let view = view("p7");
    let fixing = bracket(&view);
    let flat =
        |p: &(samespot_core::units::Length, samespot_core::units::Length)| (p.0.mm(), p.1.mm());
    // Half the diagonal of 70 × 45 stands square to the middle's axis: sin(lean) = it / radius,
    // and over the ball it is radius × lean.
    let half = 35.0_f64.hypot(22.5);
    let one = &fixing.holes[0];
    let radius = half / one.lean.rad().sin();
    assert!(radius > 200.0 && radius < 290.0, "{radius}");
    for hole in &fixing.holes {
        let at = flat(&hole.at);
        assert!((at.0.hypot(at.1) - radius * (half / radius).asin()).abs() < 1e-6);
        let mark =
            |s: &SwingView| flat(&fixing.marks.iter().find(|m| m.letter == s.from).unwrap().at);
        let tape = hole.tape.as_ref().unwrap();
        for swing in [&tape.first, &tape.second, tape.check.as_ref().unwrap()] {
            let ball = over_a_ball(radius, at, mark(swing));
            assert!(swing.over, "a tape on a ball of that size lies on it");
            assert!((swing.length.mm() - ball).abs() < 1e-6, "{swing:?} {ball}");
        }
    }
    // The drill's free end leans to the middle: the lower left hole's up and right.
    let way = |h: &HoleView| h.towards.clone();
    let ways: Vec<String> = fixing.holes.iter().map(way).collect();
    assert_eq!(
        ways,
        [
            "up and right",
            "up and left",
            "down and left",
            "down and right"
        ]
    );
}

/// How often four bolts enter, thrown 40 000 times: a common shift of `sd` each way, own errors
/// ± `own` and ± 0.3, 1 mm of reach.
fn entered(sd: f64, own: f64) -> f64 {
    let mut state = 0x5EED_0026_u64;
    let mut within = |a: f64| {
        state ^= state >> 12;
        state ^= state << 25;
        state ^= state >> 27;
        let bits = state.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 40;
        (bits as f64 / f64::from(1_u32 << 24) * 2.0 - 1.0) * a
    };
    let throws = 40_000;
    let mut all = 0;
    for _ in 0..throws {
        let x: f64 = (0..12).map(|_| within(0.5)).sum::<f64>() * sd;
        let y: f64 = (0..12).map(|_| within(0.5)).sum::<f64>() * sd;
        let mut enter = true;
        for _ in 0..4 {
            let (u, v) = (within(own) + within(0.3), within(own) + within(0.3));
            enter &= (x + u).hypot(y + v) <= 1.0;
        }
        all += i32::from(enter);
    }
    f64::from(all) / f64::from(throws)
}

#[test]
fn the_chance_and_the_thickness_are_those_of_the_checks() {
    let view = view("p7");
    let fixing = bracket(&view);
    // A fixed M10 in 12: axes 1 apart. Marked ± 1 with a bracket ± 0.3 on marks that are known: 0.28
    // of four held (design/10). These marks were read with a tape: a plain simulation, with the
    // whole pattern moved by as much as its worst hole (2.4477 deviations to 95 of 100), is the least.
    let chance = |k: usize| fixing.chances[k].chance;
    let worst = fixing.holes.iter().map(|h| h.within.mm());
    let least = entered(worst.fold(0.0, f64::max) / 2.447_746_8, 1.0);
    assert!(
        chance(0) > least - 0.02 && chance(0) < 0.28,
        "{} and {least}",
        chance(0)
    );
    // Through the bracket nothing that was measured counts: ± 0.2 in a reach of 1.
    assert!(chance(3) > 0.999, "{}", chance(3));
    // What is called enough is the first that reaches 95 %.
    let first = fixing.chances.iter().position(|c| c.chance >= 0.95);
    assert_eq!(fixing.chances.iter().position(|c| c.enough), first);
    // No chance is over 95 % where the worst hole may be as far off as the bolts allow and more.
    for c in fixing.chances.iter().take(3) {
        let within = c.within.unwrap().mm();
        assert!(within < 1.0 || c.chance < 0.97, "{c:?}");
    }
    // Glass alone sets no stop.
    assert_eq!(fixing.stop, None);
    // 2400 g/m² at resin 2.25 : 1 (CHECKS N3): 2.4 (1 / 2.55 + 2.25 / 1.20) = 5.44 mm, ± 30 %.
    let through = fixing.through.unwrap();
    let best = 2.4 * (1.0 / 2.55 + 2.25 / 1.20);
    assert!(!through.measured);
    assert!((through.least.mm() - 0.7 * best).abs() < 1e-9);
    let lean = fixing
        .holes
        .iter()
        .map(|h| h.lean.rad())
        .fold(0.0, f64::max);
    assert!((through.most.mm() - 1.3 * best / lean.cos()).abs() < 1e-9);
    assert!(fixing.notes.iter().any(|n| n.contains("tapped plate")));
}

/// The bracket of p7 with other layers, and what its drill sheet carries.
fn with_layers(layers: Vec<HoleLayer>) -> (FixingView, String) {
    with(&FixingEdit {
        layers: Some(layers),
        ..FixingEdit::default()
    })
}

fn with(fields: &FixingEdit) -> (FixingView, String) {
    let mut opened = samespot_core::read::job::open(FILE).unwrap();
    let job = opened.ledger.fold();
    let fixing = job.fixings.keys().next().unwrap().clone();
    let writer = Writer {
        replica: ReplicaId(500),
        who: "test".into(),
        wall: String::new(),
    };
    let edit = Edit::of(EntityRef::Fixing(fixing), fields).unwrap();
    opened.ledger.write(&writer, &Payload::Edit(edit)).unwrap();
    let state = opened.ledger.fold();
    let mut desk = Desk::default();
    let job = desk.take(opened);
    let piece = PieceId::new("p7").unwrap();
    let ask = Ask::Holes { job, piece };
    match answer(&mut desk, Request { number: 1, ask }).says.unwrap() {
        Reply::Holes(view) => {
            let sheet = drill_sheet(&state, &view, Paper::default(), "2026-11-26").unwrap();
            (bracket(&view).clone(), format!("{sheet:?}"))
        }
        other => unreachable!("{other:?}"),
    }
}

#[test]
fn a_layer_without_a_thickness_is_said_and_never_counted_as_nothing() {
    let layer = |name: &str, measured: Option<f64>, glass: &[&str]| HoleLayer {
        name: name.into(),
        measured: measured.map(Entry::of_mm),
        glass: glass.iter().map(|g| (*g).to_owned()).collect(),
    };
    let skin = layer("skin", Some(6.0), &[]);
    let (whole, sheet) = with_layers(vec![skin.clone(), layer("plate", Some(10.0), &[])]);
    let through = whole.through.unwrap();
    assert!(through.measured && through.least.to_um() == 16_000);
    assert_eq!(whole.no_through, None);
    assert!(sheet.contains("Through 16") && !sheet.contains("Not known"));
    // 16 / cos(lean), a 118° point of 12 (12 / 2 tan 59° = 3.605) and 3, rounded up to whole mm.
    let stop = whole.stop.unwrap();
    let reach = through.most.mm() + 12.0 / (2.0 * 59.0_f64.to_radians().tan()) + 3.0;
    assert!((stop.collar.mm() - reach.ceil()).abs() < 1e-9, "{stop:?}");
    assert_eq!(stop.through_bracket, None);
    assert!(sheet.contains("Collar 23 mm from the tip"), "{sheet}");
    for (plate, named) in [
        (layer("plate", None, &[]), "how thick ‘plate’ is."),
        (layer(" ", None, &[]), "how thick layer 2 is."),
        // A nought typed is no thickness either, whatever glass is said beside it.
        (
            layer("plate", Some(0.0), &["450 g"]),
            "how thick ‘plate’ is.",
        ),
    ] {
        let (told, sheet) = with_layers(vec![skin.clone(), plate]);
        assert_eq!(told.through, None);
        let why = told.no_through.unwrap();
        assert!(why.contains(named) && why.contains("pilot hole"), "{why}");
        assert_eq!(told.holes.len(), 4);
        assert!(sheet.contains("Depth. Not known") && !sheet.contains("Through "));
    }
    let (both, _) = with_layers(vec![layer("skin", None, &[]), layer("plate", None, &[])]);
    let why = both.no_through.unwrap();
    assert!(why.contains("‘skin’ and ‘plate’ are"), "{why}");
    assert_eq!(with_layers(Vec::new()).0.no_through, None);
}

/// ISO 888 ends at 200 (`../shared/checks` G9): 190 of laminate, a plate and a washer are more.
#[test]
fn a_bolt_longer_than_any_standard_is_said_with_what_to_do() {
    let thick = |mm: f64| {
        vec![HoleLayer {
            name: "skin".into(),
            measured: Some(Entry::of_mm(mm)),
            glass: Vec::new(),
        }]
    };
    let screw = |mm: f64| {
        let (told, sheet) = with(&FixingEdit {
            layers: Some(thick(mm)),
            plate: Some(Entry::of_mm(8.0)),
            ..FixingEdit::default()
        });
        let note = told
            .notes
            .into_iter()
            .find(|n| n.starts_with("Screw under its head"))
            .unwrap();
        assert!(sheet.contains("Screw under its head"));
        note
    };
    assert!(screw(10.0).contains("the next standard length is"));
    let long = screw(195.0);
    assert!(
        long.contains("longer than any standard length. Use studding"),
        "{long}"
    );
}

/// The hand of a bracket stands on the Holes screen and on the drill sheet.
#[test]
fn left_and_right_are_told_apart_before_anything_is_drilled() {
    for (hand, word) in [(Hand::Left, "own LEFT"), (Hand::Right, "own RIGHT")] {
        let fields = FixingEdit {
            hand: Some(hand),
            ..FixingEdit::default()
        };
        let (told, sheet) = with(&fields);
        assert!(told.on.ends_with(word), "{}", told.on);
        assert!(sheet.contains(word));
    }
    assert!(!with(&FixingEdit::default()).0.on.contains("own"));
}

#[test]
fn what_a_hole_became_is_kept_in_its_words() {
    let done = view("p1");
    let became: Vec<_> = bracket(&done)
        .holes
        .iter()
        .map(|h| h.drilled.clone().unwrap().became)
        .collect();
    assert_eq!(
        became[2].as_deref(),
        Some("slot 12 × 14, filed to the right")
    );
    assert_eq!(became.iter().flatten().count(), 1);
    assert!(
        bracket(&view("p2"))
            .holes
            .iter()
            .all(|h| h.drilled.is_none())
    );
}

#[test]
fn the_drill_sheet_carries_the_cautions_and_reads_back_as_pdf() {
    let (mut desk, job) = opened();
    let ask = Ask::DrillSheet {
        job,
        piece: PieceId::new("p7").unwrap(),
        paper: Paper::default(),
        day: "2026-11-12".into(),
    };
    let reply = answer(&mut desk, Request { number: 1, ask });
    match reply.says.unwrap() {
        Reply::File { name, pages, .. } => {
            assert_eq!(name, "quay-puffins-drill-sheet-7.pdf");
            assert!(pages >= 1);
        }
        other => unreachable!("{other:?}"),
    }
    assert!(reply.bytes.starts_with(b"%PDF"));
    if let Ok(to) = std::env::var("SAMESPOT_LOOK") {
        std::fs::write(to, &reply.bytes).unwrap();
    }
}

#[test]
fn a_piece_or_a_fixing_that_is_not_there_is_said() {
    let (mut desk, job) = opened();
    let ask = Ask::Holes {
        job,
        piece: PieceId::new("p99").unwrap(),
    };
    let why = format!(
        "{:?}",
        answer(&mut desk, Request { number: 1, ask })
            .says
            .unwrap_err()
    );
    assert!(why.contains("p99"), "{why}");
}

/// Hole 1 of piece 7, as its drill sheet has it, by hand on a ball. The bracket's corner is 35 left and
/// 22.5 low of its middle, r = √(35² + 22.5²) = 41.61 off the axis; R the radius of this casting's face:
///
///     lean          asin(r / R)
///     two tilts     atan(35 / √(R² − r²)), atan(22.5 / √(R² − r²))
///     through       5.44 mm of skin (CHECKS N3) on a slant: 5.44 / cos(lean), nearly
///     comes out     5.44 · tan(lean) away from the axis, 35 : 22.5 left and down
///     swings        great circles (the spherical law of cosines) from the marks to the hole
#[test]
fn the_drill_sheet_of_piece_7_is_what_a_hand_calculation_gives() {
    let view = view("p7");
    let fixing = bracket(&view);
    let hole = &fixing.holes[0];
    let r = 35.0_f64.hypot(22.5);
    let radius = r / hole.lean.rad().sin();
    let lean = (r / radius).asin();
    let deep = (radius * radius - r * r).sqrt();
    let skin = 2.4 * (1.0 / 2.55 + 2.25 / 1.20);
    let flat =
        |p: &(samespot_core::units::Length, samespot_core::units::Length)| (p.0.mm(), p.1.mm());
    let at = |letter: &str| flat(&fixing.marks.iter().find(|m| m.letter == letter).unwrap().at);
    // The corner on the chart about the middle: as far over the ball as it is off the axis.
    let over = radius * lean;
    let corner = (-35.0 / r * over, -22.5 / r * over);
    let swing = |letter: &str| over_a_ball(radius, corner, at(letter));
    let by_hand = [
        format!("A {:.1} over the surface", swing("A")),
        format!("C {:.1} over the surface", swing("C")),
        format!("D {:.1} over the surface", swing("D")),
        format!("{:.0}° up and right", lean.to_degrees()),
        format!(
            "{:.1}° to the right, {:.1}° up",
            (35.0 / deep).atan().to_degrees(),
            (22.5 / deep).atan().to_degrees()
        ),
        format!("cap skin {:.1} mm", skin / lean.cos()),
        format!(
            "{:.1} left and {:.1} down of square behind it",
            skin * lean.tan() * 35.0 / r,
            skin * lean.tan() * 22.5 / r
        ),
    ]
    .map(|said| said.replace(".0 ", " "));
    println!(
        "R {radius:.2}, A {:?}, C {:?}, D {:?}: {by_hand:#?}",
        at("A"),
        at("C"),
        at("D")
    );
    // As the sheet was printed when this was written.
    assert_eq!(
        by_hand,
        [
            "A 96 over the surface",
            "C 47.1 over the surface",
            "D 150.4 over the surface",
            "10° up and right",
            "8.3° to the right, 5.4° up",
            "cap skin 5.5 mm",
            "0.8 left and 0.5 down of square behind it",
        ]
    );
    // And the sheet itself, read as drawn by roxmltree.
    let state = samespot_core::read::job::open(FILE).unwrap().ledger.fold();
    let sheet = drill_sheet(&state, &view, Paper::A4, "2026-11-26").unwrap();
    let mut words = String::new();
    for page in svg_pages(&sheet) {
        let doc = roxmltree::Document::parse(&page).unwrap();
        for text in doc.descendants().filter_map(|n| n.text()) {
            words.push_str(text.trim());
            words.push(' ');
        }
    }
    for said in by_hand {
        // Cells break their lines: the figures stand in the first.
        let first = said.split(' ').take(2).collect::<Vec<_>>().join(" ");
        assert!(words.contains(&first), "{first}:\n{words}");
    }
    // The cautions and every hole with its swings stand on the first page, and the picture too.
    let first = svg_pages(&sheet).remove(0);
    let doc = roxmltree::Document::parse(&first).unwrap();
    let page: Vec<&str> = (doc.descendants().filter_map(|n| n.text()).map(str::trim)).collect();
    let page = page.join(" ");
    for wanted in ["second person", "A 96", "D 150.4", "Seen from outside"] {
        assert!(
            page.replace("  ", " ").contains(wanted),
            "{wanted}:\n{page}"
        );
    }
    for hole in ["1", "2", "3", "4"] {
        assert!(page.split(' ').any(|w| w == hole), "hole {hole}:\n{page}");
    }
}
