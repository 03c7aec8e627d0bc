//! How often a slip is named and how often a good reading is accused, by seeded simulation on the
//! marks and lists of the invented examples. Run by hand: `cargo bench -p samespot-tests --bench
//! detection`.
//!
//! The faces are laid out flat (their lists and tapes are the example's; on them a distance
//! over the surface is what a straight one is here). Tapes lie anywhere in their class, hooks too
//! (OIML R 35-1:2007, 3.2 and 3.3); scatter and pointing are what the program reckons with; values
//! are rounded as read. Castings stray by 2 mm from the drawing; B of the bollard, on the other
//! side of the seam, by the shift said. In the last rows a face has two marks in either half of its
//! mould: how often the shift is said, and a reading accused.
#![allow(clippy::unwrap_used, reason = "a measurement that fails should stop")]

use samespot_core::frames::Point2;
use samespot_core::job::*;
use samespot_core::prepare::Source;
use samespot_core::prepare::walk::walk;
use samespot_core::readings::{
    Held, Network, ODD_ONE_OUT, Options, PointStart, Precision, Reading, ReadingKind, Tape,
    TapeClass, adjust,
};
use samespot_core::surface::{FlatFace, Surface};
use samespot_core::units::Length;
use samespot_tests::jobs::{Script, id};

/// Marks (mm) and list: from, to, tape (0 soft, 1 pocket by its hook, 2 fine), as in
/// reference/quay-puffins/design.py.
type List = (
    &'static str,
    &'static [(f64, f64)],
    &'static [(usize, usize, usize)],
);
const LISTS: [List; 5] = [
    (
        "bollard",
        &[(-186.0, 372.0), (189.0, 369.0), (-183.5, 540.5)],
        &[
            (0, 1, 0),
            (0, 1, 1),
            (0, 2, 0),
            (0, 2, 1),
            (1, 2, 0),
            (1, 2, 1),
        ],
    ),
    (
        "cap",
        &[(-63.0, 1.5), (64.5, -2.0), (3.0, 59.0), (-4.0, -60.5)],
        &[
            (0, 1, 2),
            (2, 3, 2),
            (0, 2, 0),
            (1, 2, 0),
            (1, 3, 0),
            (0, 3, 0),
        ],
    ),
    (
        "head",
        &[(-54.0, 4.0), (56.5, -3.0), (-9.0, 62.0)],
        &[
            (0, 1, 0),
            (0, 1, 1),
            (0, 1, 2),
            (0, 2, 0),
            (0, 2, 2),
            (1, 2, 0),
        ],
    ),
    // Regatta otters: a slope of the dinghy and the head, each distance more than once with one tape.
    (
        "slope",
        &[(0.0, 0.0), (477.0, 0.0), (254.3, 213.4)],
        &[
            (0, 1, 1),
            (0, 1, 1),
            (0, 2, 1),
            (0, 2, 1),
            (1, 2, 1),
            (1, 2, 1),
        ],
    ),
    (
        "otter's head",
        &[(0.0, 0.0), (141.0, 0.0), (70.0, 85.0)],
        &[
            (0, 1, 0),
            (0, 1, 0),
            (0, 2, 0),
            (0, 2, 0),
            (1, 2, 0),
            (1, 2, 0),
        ],
    ),
];

/// As advised: every distance with two tapes, and once more with the third.
const ADVISED: List = (
    "head, each distance three times",
    &[(-54.0, 4.0), (56.5, -3.0), (-9.0, 62.0)],
    &[
        (0, 1, 0),
        (0, 1, 1),
        (0, 1, 2),
        (0, 2, 0),
        (0, 2, 1),
        (0, 2, 2),
        (1, 2, 0),
        (1, 2, 1),
        (1, 2, 2),
    ],
);

struct Chance(u64);

impl Chance {
    /// Evenly between 0 and 1 (xorshift64*; Vigna 2016).
    fn even(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }
    fn next(&mut self) -> u64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        self.0.wrapping_mul(0x2545_F491_4F6C_DD1D)
    }
    /// One of so many.
    fn pick(&mut self, of: usize) -> usize {
        usize::try_from((self.next() >> 11) % of as u64).unwrap()
    }
    /// Normal (Box and Muller 1958).
    fn normal(&mut self) -> f64 {
        let (a, b) = (self.even().max(1e-300), self.even());
        (-2.0 * a.ln()).sqrt() * (std::f64::consts::TAU * b).cos()
    }
}

fn tapes() -> [Tape; 3] {
    let mut soft = Tape::of_class(TapeClass::II);
    soft.hook = Length::ZERO;
    soft.each.repeatability = Length::from_mm(0.4);
    let mut pocket = Tape::of_class(TapeClass::II);
    pocket.each.resolution = Length::from_mm(0.5);
    let mut fine = Tape::of_class(TapeClass::I);
    fine.hook = Length::ZERO;
    fine.each.resolution = Length::from_mm(0.5);
    fine.each.repeatability = Length::from_mm(0.15);
    [soft, pocket, fine]
}

const CLASSES: [TapeClass; 3] = [TapeClass::II, TapeClass::II, TapeClass::I];

fn network(list: &List, shift_mm: f64, chance: &mut Chance) -> Network {
    let mut network = Network::on(Surface::Flat(FlatFace));
    network.tapes = tapes().to_vec();
    for (x, y) in list.1 {
        network.points.push(PointStart {
            start: Point2::from_mm(*x, *y),
            held: Held::Free,
        });
    }
    let truth: Vec<(f64, f64)> = list
        .1
        .iter()
        .enumerate()
        .map(|(k, (x, y))| {
            let low = if k == 1 { shift_mm } else { 0.0 };
            (x + 2.0 * chance.normal(), y + 2.0 * chance.normal() - low)
        })
        .collect();
    let lies: Vec<(f64, f64)> = (0..3)
        .map(|_| (2.0 * chance.even() - 1.0, 2.0 * chance.even() - 1.0))
        .collect();
    for &(from, to, tape) in list.2 {
        let (a, b) = (truth[from], truth[to]);
        let true_mm = (a.0 - b.0).hypot(a.1 - b.1);
        let of = network.tapes[tape];
        let length = Length::from_mm(true_mm);
        let (scale, hook) = lies[tape];
        let each = of.each;
        let mut said = true_mm
            + scale * CLASSES[tape].largest_error(length).mm()
            + each.repeatability.mm() * chance.normal()
            + each.pointing.mm() * (chance.normal() + chance.normal());
        if tape == 1 {
            said += hook * of.hook.mm();
        }
        let step = each.resolution.mm();
        network.readings.push(Reading {
            kind: ReadingKind::Straight { from, to },
            value: Length::from_mm((said / step).round() * step),
            precision: Precision::Tape {
                tape,
                hooked: tape == 1,
            },
        });
    }
    network
}

#[derive(Default)]
struct Count {
    all: u32,
    named: u32,
    among: u32,
    silent: u32,
    accused: u32,
}

impl Count {
    fn line(&self, what: &str) {
        let share = |n: u32| 100.0 * f64::from(n) / f64::from(self.all.max(1));
        println!(
            "{what:44} {:6} {:6.1} {:6.1} {:6.1} {:6.2}",
            self.all,
            share(self.named),
            share(self.among),
            share(self.silent),
            share(self.accused)
        );
    }
}

fn options() -> Options {
    Options {
        drawing_spread: Some(Length::from_mm(2.0)),
        weak_motion: Some(Length::from_mm(2.0 / 3.0)),
        ..Options::default()
    }
}

fn look(network: &Network, wrong: Option<usize>, count: &mut Count) {
    let Ok(adjusted) = adjust(network, &options()) else {
        return;
    };
    count.all += 1;
    let suspects = adjusted.suspects();
    let first = match &suspects {
        Ok(list) => list.first(),
        Err(_) => {
            // Too few spare: it shows or not, and nobody is accused.
            let shows = adjusted
                .readings
                .iter()
                .any(|r| r.w.is_some_and(|w| w.abs() > ODD_ONE_OUT));
            if shows {
                count.among += 1;
            } else {
                count.silent += 1;
            }
            return;
        }
    };
    match (first, wrong) {
        (None, _) => count.silent += 1,
        (Some(s), Some(k)) if s.reading == k && s.or.is_empty() => count.named += 1,
        (Some(s), Some(k)) if s.reading == k || s.or.contains(&k) => count.among += 1,
        (Some(_), _) => count.accused += 1,
    }
}

fn main() {
    let mut chance = Chance(0x5EED_0004);
    println!(
        "{:44} {:>6} {:>6} {:>6} {:>6} {:>6}",
        "slip, or seam shift", "cases", "named", "among", "silent", "accused"
    );
    for sigmas in [5.0, 7.0, 10.0, 20.0, 50.0] {
        let (mut checked, mut rest) = (Count::default(), Count::default());
        for turn in 0..10_000 {
            let list = match turn % 6 {
                5 => &ADVISED,
                k => &LISTS[k],
            };
            let mut network = network(list, 0.0, &mut chance);
            let k = chance.pick(list.2.len());
            let Ok(before) = adjust(&network, &options()) else {
                continue;
            };
            let way = if chance.even() < 0.5 { -1.0 } else { 1.0 };
            let by = Length::from_mm(way * sigmas * before.readings[k].own.mm());
            network.readings[k].value += by;
            let of = if before.is_checked(k) {
                &mut checked
            } else {
                &mut rest
            };
            look(&network, Some(k), of);
        }
        checked.line(&format!("{sigmas:.0} sigma, checked readings"));
        rest.line(&format!("{sigmas:.0} sigma, readings named as unchecked"));
    }
    for shift_mm in [0.0, 1.0, 2.0, 3.0, 4.0] {
        let mut count = Count::default();
        for turn in 0..10_000 {
            let list = match turn % 6 {
                5 => &ADVISED,
                k => &LISTS[k],
            };
            look(&network(list, shift_mm, &mut chance), None, &mut count);
        }
        count.line(&format!("no slip, seam shift {shift_mm:.0} mm"));
    }
    for shift_mm in [0.0, 1.0, 2.0, 3.0, 4.0] {
        let mut count = Count::default();
        for _ in 0..1000 {
            halves(shift_mm, &mut chance, &mut count);
        }
        count.line(&format!(
            "two marks a half, seam shift {shift_mm:.0} mm: said"
        ));
    }
}

/// A casting whose right half, marks B and D, sits low by so much; each mark keeps to its half within
/// 0.3 mm, each of six distances is read once with a soft tape that scatters by 0.3.
fn halves(shift_mm: f64, chance: &mut Chance, count: &mut Count) {
    const AT: [(&str, f64, f64); 4] = [
        ("a", 0.0, 0.0),
        ("b", 400.0, 0.0),
        ("c", 0.0, 300.0),
        ("d", 400.0, 300.0),
    ];
    let mut s = Script::one_face(FaceShape::Flat, &["a", "b", "c", "d"], 1);
    s.set(
        EntityRef::Mould(id("mould")),
        &MouldEdit {
            sections: Some(vec![
                Section {
                    id: id("left"),
                    name: "left half".into(),
                },
                Section {
                    id: id("right"),
                    name: "right half".into(),
                },
            ]),
            ..MouldEdit::default()
        },
    );
    s.set(
        EntityRef::Part(id("part")),
        &PartEdit {
            name: Some("part".into()),
            mould: Some(id("mould")),
        },
    );
    for (mark, x, y) in AT {
        s.set(
            EntityRef::Mark(id(mark)),
            &MarkEdit {
                section: Some(id(if x > 0.0 { "right" } else { "left" })),
                side: (y > 0.0).then_some(LineSide::Above),
                ..MarkEdit::default()
            },
        );
    }
    for casting in ["pattern", "c1"] {
        let cast = casting == "c1";
        let place: Vec<(f64, f64)> = AT
            .iter()
            .map(|(_, x, y)| {
                if cast {
                    let low = if *x > 0.0 { shift_mm } else { 0.0 };
                    let stray = (0.3 * chance.normal(), 0.3 * chance.normal());
                    (0.998 * x + stray.0, 0.998 * y + stray.1 - low)
                } else {
                    (*x, *y)
                }
            })
            .collect();
        for (i, a) in place.iter().enumerate() {
            for (k, b) in place.iter().enumerate().skip(i + 1) {
                let scatter = if cast { 0.3 * chance.normal() } else { 0.0 };
                let said = ((a.0 - b.0).hypot(a.1 - b.1) + scatter) * 2.0;
                s.over(casting, AT[i].0, AT[k].0, said.round() / 2.0);
            }
        }
    }
    for mark in ["a", "b", "c", "d"] {
        s.over("pattern", mark, "spot", 250.0);
    }
    let job = s.ledger.fold();
    let source = Source {
        job: &job,
        attachments: &s.attachments,
    };
    let walk = walk(&source, &id("c1")).unwrap();
    count.all += 1;
    if walk.odd.is_some() || walk.unsettled.is_some() {
        count.accused += 1;
    } else if walk.says.iter().any(|w| w.contains("at the seam")) {
        count.named += 1;
    } else {
        count.silent += 1;
    }
}
