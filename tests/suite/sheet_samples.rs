//! Templates that the sheet and writer tests lay out. Every name and figure is invented.
#![allow(dead_code, reason = "each test file uses its own part of this")]

use kurbo::{Affine, Shape};
use samespot_core::frames::{Flat, Point2, Vector2};
use samespot_core::outline::lettering::{Weight, set_text};
use samespot_core::sheet::{
    Cross, FlatPath, Hand, Paper, ProofState, SheetSetup, TemplateSheet, Words, WorstError,
};
use samespot_core::surface::Dart;
use samespot_core::units::{Angle, Length};

pub(crate) fn mm(v: f64) -> Length {
    Length::from_mm(v)
}

pub(crate) fn at(x: f64, y: f64) -> Point2<Flat> {
    Point2::from_mm(x, y)
}

pub(crate) fn cross(letter: &str, x: f64, y: f64, off: &str) -> Cross {
    Cross {
        letter: letter.into(),
        place: at(x, y),
        off_by: (!off.is_empty()).then(|| off.into()),
        suspect: None,
    }
}

/// An ellipse as Bézier curves, turned.
pub(crate) fn ellipse(width: f64, height: f64, turn_deg: f64) -> Vec<FlatPath> {
    let shape = kurbo::Ellipse::new(
        (0.0, 0.0),
        (width / 2.0, height / 2.0),
        turn_deg.to_radians(),
    );
    FlatPath::from_bezier(&shape.to_path(1e-4))
}

fn rounded(width: f64, height: f64, radius: f64) -> Vec<FlatPath> {
    let r = kurbo::RoundedRect::new(
        -width / 2.0,
        -height / 2.0,
        width / 2.0,
        height / 2.0,
        radius,
    );
    FlatPath::from_bezier(&r.to_path(1e-4))
}

pub(crate) fn setup(paper: Paper) -> SheetSetup {
    SheetSetup {
        paper,
        ..SheetSetup::default()
    }
}

fn words() -> Words {
    Words {
        job: "Quay puffins".into(),
        part: "figure".into(),
        face: "head, left side".into(),
        feature: "eye".into(),
        hand: Hand::Left,
        piece: "7".into(),
        serves: ["5", "7", "8", "10", "11", "15"].map(String::from).to_vec(),
        issue: 2,
        issue_date: "12 Nov 2025".into(),
        template_number: "2 of 3".into(),
        kind: "stencil".into(),
        finish: "black 9005, gloss, 2nd coat".into(),
        prepared_for: "the finisher".into(),
        laying: "Put A on A, then turn until B lies on the line A–B.".into(),
        seen_from: "seen from outside, from the figure's left".into(),
        worst_error: Some(WorstError {
            worst: mm(1.6),
            allowed: mm(2.0),
            terms: vec![
                ("sharing".into(), mm(1.0)),
                ("flattening".into(), mm(0.8)),
                ("measuring".into(), mm(0.6)),
                ("laying on".into(), mm(0.5)),
                ("marking".into(), mm(0.4)),
                ("printing".into(), mm(0.2)),
            ],
        }),
        instead_of_nominal: "The drawing's own stencil laid on piece 7 would land 4.1 mm low; \
            this one, within 1.2."
            .into(),
        allowance: "cut 0.5 inside the paint edge, for a soft pencil".into(),
        marker: "soft pencil".into(),
        material: "paper 0.1 mm, laid outside".into(),
        proof: ProofState::NotProved,
        address: String::new(),
        printer: "Bench printer, A3".into(),
        supersedes: "issue 1, 3 Oct".into(),
        program: "Samespot 0.1.0".into(),
        date: "12 Nov 2025".into(),
        invented: "INVENTED EXAMPLE".into(),
        ..Words::default()
    }
}

/// The left eye: one sheet of A3, several of A4.
pub(crate) fn eye(paper: Paper) -> TemplateSheet {
    TemplateSheet {
        paint_edges: ellipse(62.0, 48.0, 14.0),
        cuts: ellipse(61.0, 47.0, 14.0),
        centre_lines: vec![
            [at(-46.0, 0.0), at(46.0, 0.0)],
            [at(0.0, -34.0), at(0.0, 34.0)],
        ],
        crosses: vec![
            cross("A", -96.0, -47.0, "A +0.7 mm"),
            cross("B", 5.0, 103.0, "+0.9 mm"),
            cross("C", 104.0, -54.0, "+0.8 mm"),
        ],
        words: words(),
        setup: setup(paper),
        ..TemplateSheet::default()
    }
}

/// The left eye where the head is round both ways: two darts to close, and a slit that opens.
pub(crate) fn darted(paper: Paper) -> TemplateSheet {
    let dart = |bearing_deg: f64, tip_mm: f64, angle_deg: f64| {
        let out = Vector2::from_mm(1.0, 0.0).turned(bearing_deg.to_radians());
        Dart {
            tip: Point2::ORIGIN + out * tip_mm,
            out,
            angle: Angle::from_deg(angle_deg),
        }
    };
    TemplateSheet {
        arms: false,
        darts: vec![
            dart(148.0, 37.0, 14.0),
            dart(30.0, 38.0, 11.0),
            dart(-91.0, 31.0, -12.0),
        ],
        ..eye(paper)
    }
}

/// A quick template: a badge between two marks, one sheet of A4, unproved, nothing checked.
pub(crate) fn badge(paper: Paper) -> TemplateSheet {
    TemplateSheet {
        paint_edges: vec![FlatPath::circle(at(0.0, 0.0), mm(30.0))],
        cuts: vec![FlatPath::circle(at(0.0, 0.0), mm(29.5))],
        centre_lines: vec![
            [at(-36.0, 0.0), at(36.0, 0.0)],
            [at(0.0, -36.0), at(0.0, 36.0)],
        ],
        crosses: vec![
            cross("A", -66.0, -8.0, "+0.3 mm"),
            cross("B", 64.0, -8.0, "+0.3 mm"),
        ],
        words: Words {
            part: String::new(),
            face: "cap".into(),
            feature: "badge".into(),
            hand: Hand::None,
            piece: "1".into(),
            serves: vec!["1".into()],
            issue: 1,
            template_number: "1".into(),
            finish: String::new(),
            laying: "Put the crosses on the marks: A on A, B on B, half of any difference at each."
                .into(),
            seen_from: String::new(),
            worst_error: Some(WorstError {
                worst: mm(2.4),
                allowed: mm(3.0),
                terms: vec![("measuring".into(), mm(1.9)), ("laying on".into(), mm(0.8))],
            }),
            instead_of_nominal: String::new(),
            warnings: vec![
                "Nothing checks these readings; one more, to a third mark, would.".into(),
            ],
            printer: "paper last used".into(),
            supersedes: String::new(),
            ..words()
        },
        setup: setup(paper),
        ..TemplateSheet::default()
    }
}

/// A lettered band, 640 mm long, round the bollard: a row of A4 sheets.
pub(crate) fn band(paper: Paper) -> TemplateSheet {
    let set = set_text("OLD QUAY", mm(95.0), Weight::SemiBold);
    let move_in = Affine::translate((-set.width.mm() / 2.0, -47.5));
    let letters = |grow: f64| -> Vec<FlatPath> {
        set.contours
            .iter()
            .flat_map(|c| FlatPath::from_bezier(&(Affine::scale(grow) * (move_in * c.clone()))))
            .collect()
    };
    let x = set.width.mm() / 2.0 + 34.0;
    TemplateSheet {
        paint_edges: letters(1.0),
        cuts: Vec::new(),
        centre_lines: vec![
            [at(-x + 14.0, 0.0), at(x - 14.0, 0.0)],
            [at(0.0, -64.0), at(0.0, 64.0)],
        ],
        crosses: vec![
            cross("A", -x, -70.0, "+1.1 mm"),
            cross("B", x, -70.0, "+1.1 mm"),
            cross("C", 0.0, 96.0, "+0.6 mm"),
        ],
        words: Words {
            part: "base".into(),
            face: "bollard".into(),
            feature: "lettering".into(),
            hand: Hand::None,
            piece: String::new(),
            serves: (1..=18).map(|n| n.to_string()).collect(),
            template_number: "1".into(),
            laying: "All crosses on their marks, best fit; the centre line on the scribed line."
                .into(),
            seen_from: String::new(),
            instead_of_nominal: "The drawing's own stencil would land up to 3.4 mm to the right; \
                this one, within 1.9."
                .into(),
            allowance: "pounced: drawn on the paint edge".into(),
            marker: "pounce".into(),
            ..words()
        },
        setup: setup(paper),
        ..TemplateSheet::default()
    }
}

/// A panel that takes four sheets of A4.
pub(crate) fn panel(paper: Paper) -> TemplateSheet {
    let mut cross_b = cross("B", 128.0, 176.0, "+1.2 mm");
    cross_b.suspect = Some("odd one out: look twice".into());
    TemplateSheet {
        paint_edges: rounded(190.0, 250.0, 40.0),
        cuts: rounded(189.0, 249.0, 39.5),
        centre_lines: vec![
            [at(-118.0, 0.0), at(118.0, 0.0)],
            [at(0.0, -150.0), at(0.0, 150.0)],
        ],
        crosses: vec![
            cross("A", -126.0, 172.0, "+0.4 mm"),
            cross_b,
            cross("C", 130.0, -170.0, "+0.6 mm"),
            cross("D", -124.0, -174.0, "+0.5 mm"),
        ],
        words: Words {
            part: "base".into(),
            face: "front".into(),
            feature: "panel".into(),
            hand: Hand::None,
            cautions: vec![
                "Steel 40 mm below the cap. Collar at 15.".into(),
                "Eye protection, respirator, extraction. Clamp it. Never drill towards a hand."
                    .into(),
            ],
            seen_from: String::new(),
            laying: "All crosses on their marks, best fit.".into(),
            ..words()
        },
        setup: setup(paper),
        ..TemplateSheet::default()
    }
}
