//! What a template brings to its sheet: geometry in the flat plane, and words.

use super::greys::Greys;
use super::paper::SheetSetup;
use crate::frames::{Flat, Point2, Vector2};
use crate::surface::Dart;
use crate::units::Length;
use serde::{Deserialize, Serialize};

/// One piece of a [`FlatPath`], starting where the last one ended.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum FlatSegment {
    /// A straight line to a point.
    Line(Point2<Flat>),
    /// A circular arc through a point of it to its end.
    Arc {
        /// A point on the arc between its ends.
        via: Point2<Flat>,
        /// Its end.
        to: Point2<Flat>,
    },
    /// A cubic Bézier curve.
    Cubic {
        /// First control point.
        c1: Point2<Flat>,
        /// Second control point.
        c2: Point2<Flat>,
        /// Its end.
        to: Point2<Flat>,
    },
}

impl FlatSegment {
    /// Where it ends.
    #[must_use]
    pub const fn to(self) -> Point2<Flat> {
        match self {
            Self::Line(to) | Self::Arc { to, .. } | Self::Cubic { to, .. } => to,
        }
    }
}

/// A run of lines, arcs and curves in the developed plane.
#[derive(Debug, Clone, PartialEq)]
pub struct FlatPath {
    /// Where it starts.
    pub start: Point2<Flat>,
    /// What follows.
    pub segments: Vec<FlatSegment>,
    /// It ends where it starts and encloses an area.
    pub closed: bool,
}

impl FlatPath {
    /// Straight lines through points; none for fewer than two.
    #[must_use]
    pub fn polyline(points: &[Point2<Flat>], closed: bool) -> Option<Self> {
        let (&start, rest) = points.split_first()?;
        if rest.is_empty() {
            return None;
        }
        let mut segments: Vec<_> = rest.iter().map(|&p| FlatSegment::Line(p)).collect();
        if closed && rest.last() != Some(&start) {
            segments.push(FlatSegment::Line(start));
        }
        Some(Self {
            start,
            segments,
            closed,
        })
    }

    /// A full circle as two arcs.
    #[must_use]
    pub fn circle(centre: Point2<Flat>, radius: Length) -> Self {
        let (x, y, r) = (centre.x_mm(), centre.y_mm(), radius.mm());
        let at = |dx: f64, dy: f64| Point2::from_mm(x + dx, y + dy);
        Self {
            start: at(r, 0.0),
            segments: vec![
                FlatSegment::Arc {
                    via: at(0.0, r),
                    to: at(-r, 0.0),
                },
                FlatSegment::Arc {
                    via: at(0.0, -r),
                    to: at(r, 0.0),
                },
            ],
            closed: true,
        }
    }

    /// The sub-paths of a Bézier path whose numbers are millimetres in the flat plane, y up.
    #[must_use]
    pub fn from_bezier(path: &kurbo::BezPath) -> Vec<Self> {
        let point = |p: kurbo::Point| Point2::from_mm(p.x, p.y);
        let mut out: Vec<Self> = Vec::new();
        let mut open: Option<Self> = None;
        let flush = |open: &mut Option<Self>, out: &mut Vec<Self>| {
            if let Some(done) = open.take().filter(|path| !path.segments.is_empty()) {
                out.push(done);
            }
        };
        let mut at = kurbo::Point::ZERO;
        for element in path.elements() {
            let next = match *element {
                kurbo::PathEl::MoveTo(p) => {
                    flush(&mut open, &mut out);
                    open = Some(Self {
                        start: point(p),
                        segments: Vec::new(),
                        closed: false,
                    });
                    at = p;
                    continue;
                }
                kurbo::PathEl::LineTo(p) => (p, FlatSegment::Line(point(p))),
                kurbo::PathEl::QuadTo(q, p) => {
                    // Degree elevation is exact: a quadratic is a cubic.
                    let (c1, c2) = (at.lerp(q, 2.0 / 3.0), p.lerp(q, 2.0 / 3.0));
                    (
                        p,
                        FlatSegment::Cubic {
                            c1: point(c1),
                            c2: point(c2),
                            to: point(p),
                        },
                    )
                }
                kurbo::PathEl::CurveTo(a, b, p) => (
                    p,
                    FlatSegment::Cubic {
                        c1: point(a),
                        c2: point(b),
                        to: point(p),
                    },
                ),
                kurbo::PathEl::ClosePath => {
                    if let Some(path) = open.as_mut() {
                        path.closed = true;
                        let end = path.segments.last().map(|s| s.to());
                        if end.is_some_and(|end| end != path.start) {
                            path.segments.push(FlatSegment::Line(path.start));
                        }
                    }
                    flush(&mut open, &mut out);
                    continue;
                }
            };
            if let Some(path) = open.as_mut() {
                path.segments.push(next.1);
            }
            at = next.0;
        }
        flush(&mut open, &mut out);
        out
    }

    /// Turned, scaled and shifted: an affine map whose numbers are millimetres. Arcs stay arcs under
    /// nothing else than these.
    #[must_use]
    pub fn carried(&self, by: kurbo::Affine) -> Self {
        let onto = |p: Point2<Flat>| {
            let q = by * kurbo::Point::new(p.x_mm(), p.y_mm());
            Point2::from_mm(q.x, q.y)
        };
        let segments = self.segments.iter().map(|s| match *s {
            FlatSegment::Line(to) => FlatSegment::Line(onto(to)),
            FlatSegment::Arc { via, to } => FlatSegment::Arc {
                via: onto(via),
                to: onto(to),
            },
            FlatSegment::Cubic { c1, c2, to } => FlatSegment::Cubic {
                c1: onto(c1),
                c2: onto(c2),
                to: onto(to),
            },
        });
        Self {
            start: onto(self.start),
            segments: segments.collect(),
            closed: self.closed,
        }
    }

    /// Every number in it is finite.
    #[must_use]
    pub fn is_finite(&self) -> bool {
        self.start.is_finite()
            && self.segments.iter().all(|s| match *s {
                FlatSegment::Line(to) => to.is_finite(),
                FlatSegment::Arc { via, to } => via.is_finite() && to.is_finite(),
                FlatSegment::Cubic { c1, c2, to } => {
                    c1.is_finite() && c2.is_finite() && to.is_finite()
                }
            })
    }
}

/// A register cross over a datum mark.
#[derive(Debug, Clone, PartialEq)]
pub struct Cross {
    /// The datum's letter, as it stands in its box.
    pub letter: String,
    /// Where the mark comes to lie.
    pub place: Point2<Flat>,
    /// How far off it is expected to be when the template lies right: `+0.8 mm`. A leading
    /// repetition of the letter (`B +0.8 mm`) is not printed twice.
    pub off_by: Option<String>,
    /// A doubt about this mark: `odd one out: check by eye`.
    pub suspect: Option<String>,
}

/// A line that is laid along a datum edge.
#[derive(Debug, Clone, PartialEq)]
pub struct RegisterEdge {
    /// What stands beside it: `lay along the rim`.
    pub label: String,
    /// The line.
    pub path: FlatPath,
}

/// Where one patch of an outline joins another: the same line over the face on both.
#[derive(Debug, Clone, PartialEq)]
pub struct SheetJoin {
    /// What stands beside it: `● patch 1 meets patch 2`.
    pub label: String,
    /// The symbol alone, the same on both.
    pub symbol: &'static str,
    /// The other patch, counted from 1.
    pub other: usize,
    /// How far apart flat paper leaves the ends of the outline there.
    pub step: Length,
    /// The line, from the outline outwards.
    pub path: FlatPath,
}

/// Where a mark would stand on the drawing when the piece differs.
#[derive(Debug, Clone, PartialEq)]
pub struct AsDrawnCross {
    /// The datum's letter.
    pub letter: String,
    /// Its place on the drawing, in this template's plane.
    pub place: Point2<Flat>,
}

/// A hole to drill through a template.
#[derive(Debug, Clone, PartialEq)]
pub struct DrillHole {
    /// Its number.
    pub number: String,
    /// Its middle.
    pub place: Point2<Flat>,
    /// The drill, across.
    pub across: Length,
    /// The bush that guides it, across: its hole is cut; nothing on paper.
    pub bush: Option<Length>,
    /// Which way the drill's free end leans, of unit length; nothing where it stands square.
    pub leans: Option<Vector2<Flat>>,
    /// What stands beside it, a line each: `Ø 12`, `leans 9° up and right`.
    pub says: Vec<String>,
}

/// Which of a pair: always the figure's own left and right.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Hand {
    /// The figure's own left.
    Left,
    /// The figure's own right.
    Right,
    /// Not one of a pair.
    #[default]
    None,
}

impl Hand {
    /// `LEFT`, `RIGHT`, or nothing.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Left => "LEFT",
            Self::Right => "RIGHT",
            Self::None => "",
        }
    }
}

/// The worst error this template leaves, and what it is made of.
#[derive(Debug, Clone, PartialEq)]
pub struct WorstError {
    /// The whole: 95 % of cases lie within it.
    pub worst: Length,
    /// The radius asked for.
    pub allowed: Length,
    /// Each term with its name, largest first: `("measuring", 0.6 mm)`.
    pub terms: Vec<(String, Length)>,
}

/// What is said where the outline is sawn out of a skin and the plug kept.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Plug {
    /// What is written on it and beside the opening: `7`.
    pub number: String,
    /// What is done, in order.
    pub steps: Vec<String>,
}

/// Whether the printer and paper have been proved.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub enum ProofState {
    /// No proof for this printer and paper.
    #[default]
    NotProved,
    /// Proved, and on which day: `2026-11-12`.
    Proved(String),
}

/// A correction for what a printer does to lengths, taken from its proof.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ScaleCorrection {
    /// Lengths across are drawn this many times as long.
    pub across: f64,
    /// Lengths up are drawn this many times as long.
    pub up: f64,
}

impl ScaleCorrection {
    /// No correction at all.
    pub const NONE: Self = Self {
        across: 1.0,
        up: 1.0,
    };
}

impl Default for ScaleCorrection {
    fn default() -> Self {
        Self::NONE
    }
}

/// Everything a sheet says in words.
///
/// Empty strings and lists leave their place out; nothing is invented for them.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Words {
    /// The job's name: `Quay puffins`.
    pub job: String,
    /// The part: `figure`.
    pub part: String,
    /// The face: `head`.
    pub face: String,
    /// The feature, without its hand: `eye`.
    pub feature: String,
    /// Left or right, the figure's own.
    pub hand: Hand,
    /// The piece this sheet was asked for, when it was asked for one: `7`.
    pub piece: String,
    /// The pieces it serves, as printed: `["5", "7", "8"]`.
    pub serves: Vec<String>,
    /// The issue's number.
    pub issue: u32,
    /// The issue's date, as printed.
    pub issue_date: String,
    /// The template's number: `2`, or `2 of 3`.
    pub template_number: String,
    /// What kind it is, `stencil` by default when empty.
    pub kind: String,
    /// Colour reference, gloss, coat.
    pub finish: String,
    /// Who it was prepared for.
    pub prepared_for: String,
    /// How to lay it: the first line of every sheet. `Put A on A, then turn until B lies on the
    /// line A–B.`
    pub laying: String,
    /// What UP means, when more than the word helps: `towards the crown`.
    pub up_note: String,
    /// From where it is seen: `seen from outside, from the figure's left`. Empty prints *seen
    /// from outside*.
    pub seen_from: String,
    /// `A to B to C runs clockwise, seen from outside.` `None` lets the sheet work it out from
    /// its own crosses, which cannot disagree with what is drawn.
    pub hand_check: Option<String>,
    /// The worst error, its terms and the radius asked for.
    pub worst_error: Option<WorstError>,
    /// What nominal would have done: `The drawing's own stencil laid on piece 7 would land 4.1 mm
    /// low; this one, within 1.2.`
    pub instead_of_nominal: String,
    /// `cut 0.5 inside the paint edge, for a soft pencil`.
    pub allowance: String,
    /// What the lines of the outline are, where they are neither where the paint ends nor where the
    /// saw runs: `line of the drawing`.
    pub lines: &'static str,
    /// The plug, where the outline is sawn out and what it encloses is kept.
    pub plug: Option<Plug>,
    /// Every hole in a line: its drill, how it leans, how sure it is and by what.
    pub holes: Vec<String>,
    /// What marks the piece: `soft pencil`.
    pub marker: String,
    /// What is laid: `paper 0.1 mm, laid outside`.
    pub material: String,
    /// Cautions, where it leads to drilling; the particular first.
    pub cautions: Vec<String>,
    /// Warnings about what this sheet rests on: `Nothing checks these readings; one more, to a
    /// third mark, would.`
    pub warnings: Vec<String>,
    /// Whether the printer was proved.
    pub proof: ProofState,
    /// Nobody has signed its issue yet: said in the warnings, and where those stand on another sheet,
    /// stamped on.
    pub unsigned: bool,
    /// That it has not proved itself on a piece yet, longest wording first; the first that has room
    /// is stamped on: no part of the reference. Empty prints nothing.
    pub proving: Vec<String>,
    /// What the code on the strip leads to; empty for the letters of the reference.
    pub address: String,
    /// Printer and paper: `Bench A3`.
    pub printer: String,
    /// What this one replaces: `issue 1, 3 October`.
    pub supersedes: String,
    /// The program's version, as printed.
    pub program: String,
    /// The day it was made, as printed; comes in as an argument, never from a clock.
    pub date: String,
    /// The mark for invented data: `INVENTED EXAMPLE`. Empty prints nothing.
    pub invented: String,
}

impl Words {
    /// It is laid on a piece: not a board, a grid or what is drilled into a pattern.
    #[must_use]
    pub const fn is_of_a_piece(&self) -> bool {
        !self.piece.is_empty() || !self.serves.is_empty()
    }
}

/// A template ready to be laid out on sheets.
///
/// Geometry is in the flat plane of the template: its centre at the origin, up along +y, seen
/// from outside.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct TemplateSheet {
    /// A picture under everything, its corner in the flat plane's own µm.
    pub underlay: Option<Greys>,
    /// Where the paint ends on the piece.
    pub paint_edges: Vec<FlatPath>,
    /// What is cut, after the allowance for the marker.
    pub cuts: Vec<FlatPath>,
    /// Centre lines, end to end.
    pub centre_lines: Vec<[Point2<Flat>; 2]>,
    /// The centre lines are those of a grid.
    pub grid: bool,
    /// Ticks across the outline, end to end: marked on both sides of a saw line, so that a plug
    /// goes back as it came out.
    pub ticks: Vec<[Point2<Flat>; 2]>,
    /// Holes to drill.
    pub holes: Vec<DrillHole>,
    /// Register crosses.
    pub crosses: Vec<Cross>,
    /// Wedges to cut out, or slits, so that flat paper lies on a face round both ways.
    pub darts: Vec<Dart>,
    /// The wedges lie between arms that are taped down one by one: they stay open.
    pub arms: bool,
    /// Lines that are laid along datum edges.
    pub edges: Vec<RegisterEdge>,
    /// Where it joins other patches of the same outline.
    pub joins: Vec<SheetJoin>,
    /// Where the drawing has the marks, for those who want to see the difference.
    pub as_drawn: Vec<AsDrawnCross>,
    /// What the outline encloses is no opening: it is the template itself, and may be written on.
    pub kept: bool,
    /// What it says.
    pub words: Words,
    /// Paper, margin, overlap.
    pub setup: SheetSetup,
    /// Correction from the printer's proof; `None` draws true size.
    pub correction: Option<ScaleCorrection>,
}
