//! One set of patches for several pieces, read back from its SVG and laid on each of them by that
//! piece's own marks: does every part of the outline land within what is said for that piece?

use super::patches::{lands_at, part};
use super::*;
use samespot_core::answer::{Answer, Ask, Desk, FileKind, Reply, Request, answer};
use samespot_core::frames::Vector2;
use samespot_core::job::{FeatureEdit, Kept, PieceId, SheetOf};
use samespot_core::prepare::{
    FewestTemplates, fewest_templates, issue_shared, prepare_sheet, staleness,
};
use samespot_core::read::job::Opened;
use samespot_core::template::{
    CROSS_OFF, LaidPart, Landing, Sharer, apart, best_place, fewest_sets,
};
use samespot_core::units::{Angle, Length};
use samespot_tests::jobs::{Script, id, point};
use std::collections::BTreeSet;

const R: f64 = 150.0;
const OVAL: [f64; 2] = [112.0, 92.0];
const ON_PATTERN: [P; 3] = [(-105.0, -55.0), (95.0, -65.0), (11.0, 110.0)];
const PIECES: u32 = 6;

/// Where the marks of a casting stand: the first four alike to a few tenths, the others with C 5 mm off.
fn places(n: u32) -> [P; 3] {
    let [a, b, c] = ON_PATTERN;
    let k = f64::from(n);
    let little = 0.3 * (k * 1.7).sin();
    let far = if n > 4 { 5.0 } else { 0.0 };
    [
        (a.0 + little, a.1),
        (b.0, b.1 - little),
        (c.0 + far, c.1 + 0.3 * (k * 2.3).cos()),
    ]
}

fn run() -> Script {
    let dome = FaceShape::Dome {
        hollow: false,
        size: Size::Radius {
            radius: Entry::of_mm(R),
        },
    };
    let mut s = Script::one_face(dome, &["a", "b", "c"], PIECES);
    s.set(
        EntityRef::Feature(id("spot")),
        &FeatureEdit {
            outline: Some(oval(OVAL)),
            ..FeatureEdit::default()
        },
    );
    s.set(
        EntityRef::Mark(id("c")),
        &MarkEdit {
            side: Some(LineSide::Above),
            ..MarkEdit::default()
        },
    );
    let mut read = |casting: &str, from: &str, to: &str, far: f64| {
        s.say(&Payload::Reading(Reading {
            casting: id(casting),
            of: Measured::Over {
                from: point(from),
                to: point(to),
            },
            value: Entry::of_mm(far),
            instrument: None,
            hooked: false,
            stage: None,
            within: Some(Length::from_mm(0.2)),
            set_aside: None,
        }));
    };
    for n in 0..=PIECES {
        let casting = match n {
            0 => "pattern".to_owned(),
            n => format!("c{n}"),
        };
        let at = if n == 0 { ON_PATTERN } else { places(n) }.map(|p| on_ball(R, p));
        read(&casting, "a", "b", great(R, at[0], at[1]));
        read(&casting, "a", "c", great(R, at[0], at[2]));
        read(&casting, "b", "c", great(R, at[1], at[2]));
        if n == 0 {
            for (mark, at) in ["a", "b", "c"].into_iter().zip(at) {
                read(&casting, mark, "spot", great(R, at, on_ball(R, (0.0, 0.0))));
            }
        }
    }
    s
}

fn of() -> SheetOf {
    SheetOf::Patches(id("spot"))
}

fn found(source: &Source<'_>) -> FewestTemplates {
    fewest_templates(source, of(), None).unwrap()
}

#[test]
fn a_shared_set_lands_on_each_of_its_pieces_within_what_is_said() {
    let s = run();
    let job = s.ledger.fold();
    let source = Source {
        job: &job,
        attachments: &s.attachments,
    };
    let sets = found(&source);
    assert_eq!(sets.without.len(), 0, "{:?}", sets.without);
    let mut pieces: Vec<&PieceId> = (sets.templates.iter())
        .flat_map(|t| t.serves.iter().map(|(p, _)| p))
        .collect();
    pieces.sort();
    pieces.dedup();
    assert_eq!(pieces.len(), PIECES as usize);
    assert!(sets.templates.len() < PIECES as usize, "some share");
    assert!(sets.templates.len() > 1, "C is too far off on some");
    let truth: Vec<V> = (0..2000)
        .map(|k| {
            let a = f64::from(k) * std::f64::consts::TAU / 2000.0;
            on_ball(R, (OVAL[0] / 2.0 * a.cos(), OVAL[1] / 2.0 * a.sin()))
        })
        .collect();
    let (mut shared, mut moved) = (0, 0.0_f64);
    for (k, set) in sets.templates.iter().enumerate() {
        if set.serves.len() < 2 {
            continue;
        }
        shared += 1;
        let numbers = (k + 1, sets.templates.len());
        let (drawing, printed) =
            issue_shared(&source, set, numbers, Paper::A3, "2026-11-28").unwrap();
        assert_eq!(printed.pieces.len(), set.serves.len());
        let pages: Vec<_> = (0..drawing.pages.len())
            .map(|k| part(&svg_page(&drawing, k).unwrap()))
            .collect();
        assert!(pages.len() >= 2);
        for (piece, budget) in &set.serves {
            assert!(budget.worst.mm() <= sets.allowed.mm() + 0.0015);
            // Where this piece's marks are from its own target.
            let own = prepare_sheet(&source, &of(), piece).unwrap();
            let marks: Vec<(String, V)> = (own.crosses.iter().zip(&own.placed.marks))
                .map(|(c, m)| (c.letter.clone(), on_ball(R, (m.x_mm(), m.y_mm()))))
                .collect();
            for page in &pages {
                for p in page.outline.iter().flatten() {
                    let at = lands_at(R, page, &marks, &truth, *p);
                    let off = (truth.iter().map(|t| great(R, at, *t))).fold(f64::MAX, f64::min);
                    moved = moved.max(off);
                    assert!(
                        off <= budget.worst.mm(),
                        "{piece}: {off} where {} is said",
                        budget.worst.mm()
                    );
                }
            }
        }
    }
    assert!(shared > 0 && moved > 0.05, "{shared} shared, {moved}");
}

/// What the curve says is what comes of asking at each of its tolerances by itself.
#[test]
fn the_number_of_sets_against_the_tolerance_is_that_of_asking_at_each() {
    let s = run();
    let job = s.ledger.fold();
    let source = Source {
        job: &job,
        attachments: &s.attachments,
    };
    let sets = found(&source);
    let here = (sets.curve.iter().rev()).find(|p| p.tolerance <= sets.allowed);
    let here = here.unwrap();
    assert_eq!(here.templates, sets.templates.len());
    let own: Vec<Length> = (1..=PIECES)
        .map(|n| prepare_sheet(&source, &of(), &id(&format!("p{n}"))).unwrap())
        .map(|p| p.budget.worst)
        .collect();
    let mut counts = BTreeSet::new();
    for point in &sets.curve {
        let asked = fewest_templates(&source, of(), Some(point.tolerance)).unwrap();
        assert_eq!(point.templates, asked.templates.len(), "{point:?}");
        let over = own.iter().filter(|w| w.to_um() > point.tolerance.to_um());
        assert_eq!(point.beyond, over.count(), "{point:?}");
        counts.insert(point.templates);
    }
    assert!(counts.len() > 1, "{:?}", sets.curve);
    for pair in sets.curve.windows(2) {
        let fewer = pair[0].templates >= pair[1].templates && pair[0].beyond >= pair[1].beyond;
        assert!(fewer, "{pair:?}");
    }
}

#[test]
fn a_set_is_stale_when_a_reading_of_one_of_its_pieces_changes() {
    let s = run();
    let mut job = s.ledger.fold();
    let source = Source {
        job: &job,
        attachments: &s.attachments,
    };
    let sets = found(&source);
    let count = sets.templates.len();
    let set = sets.templates.iter().find(|t| t.serves.len() > 1).unwrap();
    let (drawing, printed) =
        issue_shared(&source, set, (1, count), Paper::A3, "2026-11-28").unwrap();
    let (again, _) = issue_shared(&source, set, (1, count), Paper::A3, "2026-11-29").unwrap();
    assert_eq!(drawing.reference, again.reference);
    assert!(drawing.readable.join("\n").contains("serves pieces"));
    let reading = job.readings[0].clone();
    let last = printed.pieces.last().unwrap().clone();
    job.printed.keep(Kept {
        id: reading.id,
        lamport: reading.lamport,
        wall: String::new(),
        who: String::new(),
        says: printed.clone(),
    });
    let stale = |job: &Job| {
        let source = Source {
            job,
            attachments: &s.attachments,
        };
        staleness(&source, of(), &last)
    };
    assert_eq!(stale(&job), None);
    // Another piece of the set is read again.
    let first = printed.pieces.first().unwrap();
    let casting = first.as_str().replace('p', "c");
    let mut more = run();
    more.over(&casting, "a", "c", 200.0);
    let mut after = more.ledger.fold();
    after.printed = job.printed.clone();
    assert!(stale(&after).unwrap().contains("readings changed"));
}

#[test]
fn the_file_of_the_sets_holds_each_once() {
    let s = run();
    let job = s.ledger.fold();
    let source = Source {
        job: &job,
        attachments: &s.attachments,
    };
    let sets = found(&source).templates.len();
    let opened = Opened {
        ledger: s.ledger.clone(),
        attachments: s.attachments.clone(),
        notes: Vec::new(),
    };
    let mut desk = Desk::default();
    let job: JobId = desk.take(opened);
    let mut ask = |ask: Ask| -> Answer {
        let text = serde_json::to_string(&Request { number: 1, ask }).unwrap();
        answer(&mut desk, serde_json::from_str(&text).unwrap())
    };
    let Ok(Reply::Fewest(view)) = ask(Ask::Fewest {
        job: job.clone(),
        of: of(),
        within: None,
    })
    .says
    else {
        panic!("the sets")
    };
    assert_eq!(view.templates.len(), sets);
    assert!(view.templates.iter().all(|t| t.fits || t.errors.len() == 1));
    let crosses = view.templates.iter().flat_map(|t| &t.crosses);
    assert!(crosses.clone().any(|c| c.0.ends_with("on patch 2")));
    let file = ask(Ask::FewestFile {
        job,
        of: of(),
        within: None,
        kind: FileKind::Pdf,
        paper: Paper::A3,
        day: "2026-11-28".into(),
    });
    let Ok(Reply::File { printed, .. }) = file.says else {
        panic!("a file: {:?}", file.says)
    };
    assert_eq!(printed.len(), sets);
    let mut pieces: Vec<_> = printed.iter().flat_map(|p| p.pieces.clone()).collect();
    pieces.sort();
    assert_eq!(pieces.len(), PIECES as usize);
    pieces.dedup();
    assert_eq!(pieces.len(), PIECES as usize, "none twice");
    let read = lopdf::Document::load_mem(&file.bytes).unwrap();
    assert!(read.get_pages().len() >= 2 * sets);
}

/// Numbers between −1 and 1 that look thrown, always the same (Knuth's MMIX constants).
struct Dice(u64);

impl Dice {
    fn throw(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1_u64 << 52) as f64 - 1.0
    }
    fn pieces(&mut self, count: usize, left: f64) -> Vec<Sharer> {
        (0..count)
            .map(|_| Sharer {
                landing: Landing {
                    shift: Vector2::from_mm(self.throw() * 4.0, self.throw() * 4.0),
                    turn: Angle::from_rad(self.throw() * 0.05),
                },
                left: Length::from_mm(left * (1.0 + 0.2 * self.throw())),
                seen: Vec::new(),
            })
            .collect()
    }
}

/// The least number of groups by looking at every subset, the plain way.
fn by_brute_force(count: usize, fits: &dyn Fn(&[usize]) -> bool) -> usize {
    let all = 1_usize << count;
    let good: Vec<bool> = (0..all)
        .map(|mask| {
            let group: Vec<usize> = (0..count).filter(|k| mask >> k & 1 == 1).collect();
            mask > 0 && fits(&group)
        })
        .collect();
    let mut least = vec![usize::MAX; all];
    least[0] = 0;
    for mask in 1..all {
        let mut part = mask;
        while part > 0 {
            if good[part] && least[mask ^ part] != usize::MAX {
                least[mask] = least[mask].min(least[mask ^ part] + 1);
            }
            part = (part - 1) & mask;
        }
    }
    least[all - 1]
}

/// Two patches, each laid in either of two ways: a set serves a group where each patch has a way.
#[test]
fn the_number_of_sets_is_the_one_brute_force_finds() {
    let rectangle = |w: f64, h: f64| -> Vec<Point2<Flat>> {
        [(-w, -h), (w, -h), (w, h), (-w, h)]
            .map(|(x, y)| Point2::from_mm(x / 2.0, y / 2.0))
            .to_vec()
    };
    let outlines = [rectangle(60.0, 50.0), rectangle(30.0, 80.0)];
    let mut dice = Dice(23);
    let (mut seen, mut second_way) = (BTreeSet::new(), false);
    for left in [1.6, 2.2, 3.0, 4.2] {
        for _ in 0..2 {
            let thrown: Vec<Vec<Vec<Sharer>>> = (0..2)
                .map(|_| (0..2).map(|_| dice.pieces(7, left)).collect())
                .collect();
            let parts: Vec<Vec<LaidPart>> = (thrown.iter().zip(&outlines))
                .map(|(ways, outline)| {
                    let laid = |w: &Vec<Sharer>| LaidPart::new(outline, w.clone());
                    ways.iter().map(laid).collect()
                })
                .collect();
            let truth = by_brute_force(7, &|group| {
                group.len() < 2
                    || thrown.iter().zip(&outlines).all(|(ways, outline)| {
                        ways.iter().any(|list| {
                            let of: Vec<&Sharer> = group.iter().map(|&k| &list[k]).collect();
                            best_place(outline, &of).1.mm() <= 0.001
                        })
                    })
            });
            let (groups, at_least) = fewest_sets(&parts, 7, CROSS_OFF);
            assert_eq!((groups.len(), at_least), (truth, truth));
            seen.insert(truth);
            for group in groups.iter().filter(|g| g.members.len() > 1) {
                for (k, (way, at)) in group.parts.iter().enumerate() {
                    second_way |= *way == 1;
                    for &m in &group.members {
                        let one = &thrown[k][*way][m];
                        let off = apart(&outlines[k], &one.landing, at);
                        assert!(off.mm() <= one.left.mm() + 0.002);
                    }
                }
            }
        }
    }
    assert!(seen.len() > 2 && second_way, "{seen:?}");
}
