//! A hatch in the example: its cut-out template, the reach through it, and what is seen to before it
//! is closed; what each drill goes through, worked out again from outside.

#![allow(
    clippy::unwrap_used,
    reason = "a test that fails here should stop here"
)]

use samespot_core::answer::{Ask, Desk, FileKind, Reply, Request, answer};
use samespot_core::holes::through::LEAST_ENTRY_DEG;
use samespot_core::job::*;
use samespot_core::prepare::holes::{
    FixingView, HolesView, bolting_words, comes_out_words, drill_sheet, tilts_words,
};
use samespot_core::prepare::{LEAST_CORNER, Source, issue, record};
use samespot_core::sheet::Paper;
use samespot_core::units::{Angle, Length};
use samespot_core::write::job::Attachments;
use samespot_tests::jobs::{id, mm};

const FILE: &[u8] = include_bytes!("../../public/examples/quay-puffins.samespot");
const DAY: &str = "2026-11-27";

/// The example with more said at its end.
struct Told {
    ledger: Ledger,
    attachments: Attachments,
}

impl Told {
    fn new() -> Self {
        let opened = samespot_core::read::job::open(FILE).unwrap();
        Self {
            ledger: opened.ledger,
            attachments: opened.attachments,
        }
    }

    fn say(&mut self, payload: &Payload) {
        let writer = Writer {
            replica: ReplicaId(501),
            who: "AB".into(),
            wall: "2026-11-27 09:00".into(),
        };
        self.ledger.write(&writer, payload).unwrap();
    }

    fn set(&mut self, on: EntityRef, fields: &impl serde::Serialize) {
        let edit = Edit::of(on, fields).unwrap();
        self.say(&Payload::Edit(edit));
    }

    /// A hatch above the badge on the cap's front, held by its marks.
    fn hatch(&mut self, corner: f64) {
        let rule = self.ledger.fold().features[&id("badge")].rule.clone();
        self.set(
            EntityRef::Feature(id("hatch")),
            &FeatureEdit {
                face: Some(id("cap-front")),
                name: Some("access hatch".into()),
                outline: Some(OutlineSpec::RoundedBox {
                    width: mm(150.0),
                    height: mm(120.0),
                    corner: mm(corner),
                }),
                rule,
                tolerance: Some(Length::from_mm(3.0)),
                cut_out: Some(CutOut::PlugKept),
                ..FeatureEdit::default()
            },
        );
        // Read on the pattern from three of its marks: two swings and a check.
        let pattern = self.ledger.fold().pattern_of(&id("cap")).unwrap().clone();
        for (from, value) in [("cap-front-a", 92.0), ("cap-front-b", 94.0)] {
            self.say(&Payload::Reading(Reading {
                casting: pattern.clone(),
                of: Measured::Over {
                    from: PointRef::Mark(id(from)),
                    to: PointRef::Feature(id("hatch")),
                },
                value: mm(value),
                instrument: None,
                hooked: false,
                stage: None,
                within: None,
                set_aside: None,
            }));
        }
        self.set(
            EntityRef::Feature(id("hatch")),
            &FeatureEdit {
                side: Some(LineSide::Above),
                ..FeatureEdit::default()
            },
        );
    }

    fn bracket(&mut self, fields: &FixingEdit) {
        self.set(EntityRef::Fixing(id("bracket")), fields);
    }

    fn measured_skin(&mut self) {
        self.bracket(&FixingEdit {
            layers: Some(vec![HoleLayer {
                name: "cap skin".into(),
                measured: Some(mm(6.0)),
                glass: Vec::new(),
            }]),
            plate: Some(mm(8.0)),
            ..FixingEdit::default()
        });
    }

    fn job(&self) -> Job {
        self.ledger.fold()
    }

    fn holes(&self, piece: &str) -> HolesView {
        let mut desk = Desk::default();
        let mut bytes = samespot_core::read::job::open(FILE).unwrap();
        bytes.ledger = self.ledger.clone();
        let job = desk.take(bytes);
        let ask = Ask::Holes {
            job,
            piece: id(piece),
        };
        match answer(&mut desk, Request { number: 1, ask }).says.unwrap() {
            Reply::Holes(view) => *view,
            other => unreachable!("{other:?}"),
        }
    }
}

fn bracket(view: &HolesView) -> &FixingView {
    assert_eq!(view.fixings[0].cannot, None);
    &view.fixings[0]
}

fn said(told: &Told, piece: &str) -> (String, String) {
    let job = told.job();
    let source = Source {
        job: &job,
        attachments: &told.attachments,
    };
    let feature: FeatureId = id("hatch");
    let made = issue(&source, &feature, &id(piece), Paper::A3, DAY).unwrap();
    let svg = samespot_core::write::svg::svg_pages(&made.drawing).concat();
    (made.drawing.readable.join("\n"), svg)
}

#[test]
fn a_hatch_is_a_cut_out_template_with_its_plug() {
    let mut told = Told::new();
    told.hatch(25.0);
    let (words, svg) = said(&told, "p7");
    for wanted in [
        "PLUG 7: KEEP IT",
        "cut-out template",
        "Saw line 150 × 120",
        "Least corner radius 25 mm",
        "Write 7 on the plug",
        "two at the top, one on the right",
        "it must not fall in",
        "competent, licensed person",
    ] {
        assert!(words.contains(wanted), "{wanted}\n{words}");
    }
    assert!(!words.contains("paint edge"), "{words}");
    assert!(!words.contains("cracks start"), "{words}");
    // Three ticks across the line, read back by another reader.
    let read = roxmltree::Document::parse(&svg).unwrap();
    let ticks = read
        .descendants()
        .filter(|n| n.is_element() && n.has_tag_name("title"))
        .filter(|n| {
            n.text()
                .is_some_and(|t| t.contains("tick across the saw line"))
        })
        .count();
    assert_eq!(ticks, 3);
    // Another piece, another number; a painted feature is what it always was.
    assert!(said(&told, "p8").0.contains("PLUG 8: KEEP IT"));
}

#[test]
fn a_tight_corner_is_said_and_lettering_is_no_hatch() {
    let mut told = Told::new();
    told.hatch(4.0);
    let (words, _) = said(&told, "p7");
    assert!(words.contains("radius of 4 mm: cracks start"), "{words}");
    assert!(LEAST_CORNER.mm() > 4.0);
    told.set(
        EntityRef::Feature(id("hatch")),
        &FeatureEdit {
            outline: Some(OutlineSpec::Lettering {
                text: "HATCH".into(),
                capitals: mm(40.0),
            }),
            ..FeatureEdit::default()
        },
    );
    let job = told.job();
    let source = Source {
        job: &job,
        attachments: &told.attachments,
    };
    let feature: FeatureId = id("hatch");
    let why = issue(&source, &feature, &id("p7"), Paper::A3, DAY)
        .unwrap_err()
        .to_string();
    assert!(why.contains("one closed line"), "{why}");
}

/// Great circle between two places of the chart about the pattern's middle (spherical law of cosines).
fn over_a_ball(radius: f64, a: (f64, f64), b: (f64, f64)) -> f64 {
    let (ra, rb) = (a.0.hypot(a.1) / radius, b.0.hypot(b.1) / radius);
    let between = a.1.atan2(a.0) - b.1.atan2(b.0);
    radius * (ra.cos() * rb.cos() + ra.sin() * rb.sin() * between.cos()).acos()
}

#[test]
fn the_reach_is_the_way_over_the_skin_and_the_nearest_bolt_is_the_last() {
    let mut told = Told::new();
    told.hatch(25.0);
    told.bracket(&FixingEdit {
        hatch: Some(id("hatch")),
        arm: Some(mm(400.0)),
        ..FixingEdit::default()
    });
    let view = told.holes("p7");
    let fixing = bracket(&view);
    let bolting = fixing.bolting.as_ref().unwrap();
    assert_eq!(bolting.reach.len(), 4);
    // Radius as the leans give it, as in holes_of_example.
    let half = 35.0_f64.hypot(22.5);
    let radius = half / fixing.holes[0].lean.rad().sin();
    let at = |k: usize| {
        let (x, y) = fixing.holes[k].at;
        (x.mm(), y.mm())
    };
    // Where the hatch's middle is, by two of the ways; then the others must fit (trilateration on
    // the ball by a coarse-to-fine search that shares nothing with the program).
    let want: Vec<f64> = bolting.reach.iter().map(|r| r.way.mm()).collect();
    let miss = |m: (f64, f64)| -> f64 {
        (0..4)
            .map(|k| (over_a_ball(radius, at(k), m) - want[k]).powi(2))
            .sum()
    };
    let (mut best, mut step) = ((0.0, 0.0), 64.0);
    while step > 1e-7 {
        let tries = (-2..=2).flat_map(|i| (-2..=2).map(move |j| (i, j)));
        let next = tries
            .map(|(i, j)| (best.0 + step * f64::from(i), best.1 + step * f64::from(j)))
            .min_by(|a, b| miss(*a).total_cmp(&miss(*b)))
            .unwrap();
        if miss(next) < miss(best) {
            best = next;
        } else {
            step /= 2.0;
        }
    }
    assert!(miss(best).sqrt() < 1e-3, "{best:?} {}", miss(best));
    // Crosswise: 1 and 3, 2 and 4 are opposite; the last is the nearest.
    let order = &bolting.order;
    assert_eq!((order[0] + 2 - 1) % 4 + 1, order[1]);
    assert_eq!((order[2] + 2 - 1) % 4 + 1, order[3]);
    let nearest = bolting
        .reach
        .iter()
        .min_by(|a, b| a.way.mm().total_cmp(&b.way.mm()))
        .unwrap();
    assert_eq!(order[3], nearest.hole);
    assert!(bolting.reach.iter().all(|r| r.reached));
    // A short arm: said for each hole it does not come to, and the hatch does not close.
    told.bracket(&FixingEdit {
        arm: Some(mm(10.0)),
        ..FixingEdit::default()
    });
    let view = told.holes("p7");
    let words = bolting_words(bracket(&view).bolting.as_ref().unwrap()).join(" ");
    assert!(
        words.contains("OUT OF REACH") && words.contains("falls short of hole 1"),
        "{words}"
    );
    assert!(!view.hatches[0].may_close());
    // 120 mm one way is narrower than a hand with a spanner.
    assert!(words.contains("only 120 mm one way"), "{words}");
}

#[test]
fn a_hatch_closes_when_everything_is_seen_to_and_the_record_says_so() {
    let mut told = Told::new();
    told.hatch(25.0);
    told.bracket(&FixingEdit {
        hatch: Some(id("hatch")),
        ..FixingEdit::default()
    });
    let paper = Paper::default();
    let recorded = |told: &Told| {
        let job = told.job();
        let source = Source {
            job: &job,
            attachments: &told.attachments,
        };
        record(&source, Some(&id("p7")), paper, DAY)
            .unwrap()
            .readable
            .join("\n")
    };
    assert!(recorded(&told).contains("not said to be cut out; its plug is 7"));
    let casting = told.holes("p7").hatches[0].casting.clone();
    let done = |what: &str, kind| {
        Payload::Done(DoneFact {
            casting: casting.clone(),
            what: what.to_owned(),
            on: Some(EntityRef::Feature(id("hatch"))),
            kind: Some(kind),
            near: Vec::new(),
        })
    };
    told.say(&done("hatch cut out", DoneKind::Cut));
    let view = told.holes("p7");
    assert!(view.hatches[0].open && !view.hatches[0].may_close());
    assert!(recorded(&told).contains("cut out, plug 7 kept (AB"));
    for hole in 1..=4 {
        told.say(&Payload::Drilled(DrilledFact {
            piece: id("p7"),
            fixing: id("bracket"),
            hole,
            became: None,
            found: None,
        }));
    }
    let left: Vec<String> = told.holes("p7").hatches[0]
        .before
        .iter()
        .filter(|b| !b.done)
        .map(|b| {
            assert!(b.by_hand, "{b:?}");
            b.what.clone()
        })
        .collect();
    assert_eq!(left.len(), 3, "{left:?}");
    for what in &left {
        told.say(&done(what, DoneKind::Ticked));
    }
    assert!(told.holes("p7").hatches[0].may_close());
    told.say(&done("plug back", DoneKind::Closed));
    assert!(!told.holes("p7").hatches[0].open);
    assert!(recorded(&told).contains("plug 7 back and closed (AB"));
    // Opened again, what was ticked before counts no more.
    told.say(&done("cut out again", DoneKind::Cut));
    assert!(!told.holes("p7").hatches[0].may_close());
    // Another piece knows nothing of it.
    assert!(!told.holes("p8").hatches[0].open);
}

#[test]
fn what_a_drill_goes_through_is_the_geometry_of_a_ball_with_a_plate_behind() {
    let mut told = Told::new();
    told.measured_skin();
    told.bracket(&FixingEdit {
        looks_up: Some(Angle::from_deg(12.0)),
        ..FixingEdit::default()
    });
    let view = told.holes("p7");
    let fixing = bracket(&view);
    let half = 35.0_f64.hypot(22.5);
    let radius = half / fixing.holes[0].lean.rad().sin();
    // Along the drill at `half` beside the ball's middle: √(R² − h²) − √((R − 6)² − h²).
    let deep = |r: f64| (r * r - half * half).sqrt();
    let skin = deep(radius) - deep(radius - 6.0);
    for hole in &fixing.holes {
        let way = hole.way.as_ref().unwrap();
        assert!(way.measured);
        let names: Vec<&str> = way.layers.iter().map(|l| l.name.as_str()).collect();
        // All four come out as deep: the plate is hard on the skin at each.
        assert_eq!(names, ["cap skin", "plate"]);
        assert!((way.layers[0].length.mm() - skin).abs() < 1e-6, "{way:?}");
        assert!((way.clamped.mm() - skin - 8.0).abs() < 1e-6);
        // From square behind the entry to the exit, within the inner face: the drill runs skin along,
        // leaning asin(h / R): skin · sin(lean) along the face, towards the middle's far side.
        let off = way.comes_out.0.mm().hypot(way.comes_out.1.mm());
        let lean = hole.lean.rad();
        assert!((off - skin * lean.sin() * lean.cos()).abs() < 1e-6, "{off}");
        // Two tilts make one lean: tan² C = tan² A + tan² B (Machinery's Handbook, CHECKS I3).
        let tilts = hole.tilts.unwrap();
        let both = tilts.across.rad().tan().hypot(tilts.up.rad().tan()).atan();
        assert!((both - lean).abs() < 1e-9);
        assert!(90.0 - hole.lean.deg() > LEAST_ENTRY_DEG);
    }
    // The lower left hole's drill leans up and right at its free end, and comes out down and left.
    let first = &fixing.holes[0];
    let words = tilts_words(first.tilts.unwrap());
    assert!(
        words.contains("to the right") && words.contains("up"),
        "{words}"
    );
    let out = comes_out_words(first.way.as_ref().unwrap());
    assert!(out.contains("left") && out.contains("down"), "{out}");
    let plumb = fixing.plumb.as_ref().unwrap();
    assert!(plumb.contains("12° below level, 78° off plumb"), "{plumb}");
    let sheet = drill_sheet(&told.job(), &view, Paper::default(), DAY).unwrap();
    let all = format!("{sheet:?}");
    for wanted in [
        "Two tilts from square",
        "cap skin 6",
        "Comes out inside",
        "Bolts in the order",
    ] {
        assert!(all.contains(wanted), "{wanted}");
    }
    // The stop still allows for the longest way.
    let stop = fixing.stop.as_ref().unwrap();
    assert!(stop.collar.mm() >= skin + 3.0);
}

#[test]
fn a_row_across_a_ball_leaves_a_bed_in_its_middle_that_the_sagitta_gives() {
    let mut told = Told::new();
    told.measured_skin();
    told.bracket(&FixingEdit {
        pattern: Some(HolePattern::Row {
            count: 3,
            pitch: mm(40.0),
        }),
        ..FixingEdit::default()
    });
    let view = told.holes("p7");
    let fixing = bracket(&view);
    let radius = 40.0 / fixing.holes[0].lean.rad().sin();
    let inner = radius - 6.0;
    // The ends come out deeper than the middle by the sagitta of the inner ball.
    let bed = inner - (inner * inner - 1600.0).sqrt();
    let middle = fixing.holes[1].way.as_ref().unwrap();
    let found = middle
        .layers
        .iter()
        .find(|l| l.name == "bed or shim")
        .unwrap();
    assert!((found.length.mm() - bed).abs() < 1e-6, "{found:?} {bed}");
    let end = fixing.holes[0].way.as_ref().unwrap();
    assert!(end.layers.iter().all(|l| l.name != "bed or shim"));
}

#[test]
fn a_tolerance_of_its_own_counts_where_it_is_less_than_the_bolt_gives() {
    let mut told = Told::new();
    let asked = |told: &Told| bracket(&told.holes("p7")).guides[0].allowed.mm();
    // A fixed M10 in 12 with a bracket ± 0.3: 1 − 0.3.
    assert!((asked(&told) - 0.7).abs() < 1e-9, "{}", asked(&told));
    told.bracket(&FixingEdit {
        tolerance: Some(Length::from_mm(0.5)),
        ..FixingEdit::default()
    });
    assert!((asked(&told) - 0.5).abs() < 1e-9);
    told.bracket(&FixingEdit {
        tolerance: Some(Length::from_mm(4.0)),
        ..FixingEdit::default()
    });
    assert!((asked(&told) - 0.7).abs() < 1e-9);
}

#[test]
fn shared_jigs_come_as_pages_for_a_cutter_too() {
    let mut desk = Desk::default();
    let job = desk.take(samespot_core::read::job::open(FILE).unwrap());
    for (kind, media, starts) in [
        (FileKind::Svg, "image/svg+xml", &b"<svg"[..]),
        (FileKind::Dxf, "image/vnd.dxf", &b"  0"[..]),
    ] {
        let ask = Ask::FewestFile {
            job: job.clone(),
            of: SheetOf::Jig(id("bracket")),
            within: Some(Length::from_mm(3.0)),
            kind,
            paper: Paper::A3,
            day: DAY.into(),
        };
        let got = answer(&mut desk, Request { number: 1, ask });
        let Reply::File {
            name,
            media: is,
            pages,
            printed,
            ..
        } = got.says.unwrap()
        else {
            unreachable!("a file")
        };
        assert!(name.contains("bracket-bolts-jig-fewest"), "{name}");
        assert!(pages >= 1 && !printed.is_empty());
        if is == "application/zip" {
            let mut zip = zip::ZipArchive::new(std::io::Cursor::new(&got.bytes)).unwrap();
            assert_eq!(zip.len(), pages);
            let mut first = zip.by_index(0).unwrap();
            let mut text = Vec::new();
            std::io::Read::read_to_end(&mut first, &mut text).unwrap();
            let inside = first.name().unwrap().into_owned();
            assert!(inside.contains("bracket-bolts-jig-1-of-"), "{inside}");
            assert!(
                begins(&text, starts),
                "{:?}",
                String::from_utf8_lossy(&text[..80])
            );
        } else {
            assert_eq!(is, media);
            assert!(begins(&got.bytes, starts));
        }
    }
}

#[test]
fn a_circle_begins_where_its_first_hole_is_said_to_lie() {
    let circle = |first| HolePattern::BoltCircle {
        count: 5,
        diameter: mm(100.0),
        first,
    };
    let right = circle(None).places().unwrap();
    let top = circle(Some(Angle::from_deg(90.0))).places().unwrap();
    assert!((right[0].x_mm() - 50.0).abs() < 1e-9);
    // CHECKS I4: hole 1 at the top.
    assert!(top[0].x_mm().abs() < 1e-9 && (top[0].y_mm() - 50.0).abs() < 1e-9);
    // A job written before it could be said reads as it always did.
    let old = r#"{"holes":"bolt-circle","count":5,"diameter":{"typed":"100","mm":100.0}}"#;
    let read: HolePattern = serde_json::from_str(old).unwrap();
    assert_eq!(read.places().unwrap(), right);
    assert!(!serde_json::to_string(&read).unwrap().contains("first"));
}

/// Whether a file is of its kind; a DXF may begin with what is said of it (group 999).
fn begins(bytes: &[u8], with: &[u8]) -> bool {
    let head = String::from_utf8_lossy(bytes.get(..200).unwrap_or(bytes)).into_owned();
    bytes.starts_with(with) || bytes.starts_with(b"<?xml") || head.starts_with("999\n")
}

/// A hatch is cut and closed whether or not a bracket is bolted behind it.
#[test]
fn a_hatch_without_a_bracket_is_cut_and_closed() {
    let mut told = Told::new();
    told.hatch(25.0);
    told.say(&Payload::Remove(Removal {
        entity: EntityRef::Fixing(id("bracket")),
    }));
    let view = told.holes("p7");
    assert!(view.fixings.is_empty());
    let hatch = &view.hatches[0];
    assert!(!hatch.open && hatch.plug == "7", "{hatch:?}");
    // Nothing of bolts is seen to where none goes in, but for their locking, which stays asked.
    assert!(hatch.before.iter().all(|b| !b.what.contains("drilled")));
    let cut = DoneFact {
        casting: hatch.casting.clone(),
        what: "cut".into(),
        on: Some(EntityRef::Feature(id("hatch"))),
        kind: Some(DoneKind::Cut),
        near: Vec::new(),
    };
    told.say(&Payload::Done(cut));
    let view = told.holes("p7");
    assert!(view.hatches[0].open);
    // The drill sheet has the hatch and what is seen to before it closes.
    let sheet = drill_sheet(&told.job(), &view, Paper::A4, DAY).unwrap();
    assert!(format!("{sheet:?}").contains("is closed (plug 7)"));
}
