//! Marks for the pattern: where to put pips before the mould is made, and what they bring.

use super::super::Source;
use super::super::error::PrepareError;
use super::super::words::{mm, tenth};
use super::grid::face_words;
use super::{FaceView, Stands, face_view, opened};
use crate::frames::{Flat, Point2};
use crate::holes::swing::swings;
use crate::job::{FaceId, Job, MarkId, RuleSpec, SectionId};
use crate::sheet::{
    Cross, Drawing, DrillHole, FlatPath, Paper, SheetSetup, TemplateSheet, Words, compose,
};
use crate::surface::{Development, Shape, Surface};
use crate::template::pips::{Candidate, Lands, fewest, leaves};
use crate::units::Length;
use serde::{Deserialize, Serialize};

/// How well a pip is found under a template's cross (one standard deviation each way): it is there
/// to be found (common practice, no source).
const PIP: Length = Length::from_mm(0.25);
/// A scribed cross, and whatever is not said to be less.
const SCRIBED: Length = Length::from_mm(0.3);
/// A corner, trimmed by hand.
const CORNER: Length = Length::from_mm(0.7);
/// The crossing of a seam, before it is cleaned up.
const SEAM: Length = Length::from_mm(1.0);
/// What sections step at a seam: 1 to 3 mm (design/02), one standard deviation.
const STEP: Length = Length::from_mm(1.0);

/// A pip is this far from any outline and any mark at least, mm: paint does not run over it, and a
/// corner carries none.
const CLEAR_MM: f64 = 20.0;
/// A place this near to a hidden mark is hidden, mm.
const BESIDE_HIDDEN_MM: f64 = 60.0;
/// Places along the longer side that are tried.
const TRIED: u32 = 9;
/// How wide a pip is drilled, and how deep (common practice, no source).
const ACROSS: Length = Length::from_mm(3.0);
const DEEP: Length = Length::from_mm(1.0);

/// Pips proposed for a face.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PipsView {
    /// The pips.
    pub pips: Vec<PipView>,
    /// What they bring, a sentence a feature.
    pub gains: Vec<String>,
    /// What to mind.
    pub notes: Vec<String>,
}

/// One pip.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PipView {
    /// *P1*.
    pub name: String,
    /// In the picture of the face, mm.
    pub at_mm: [f64; 2],
    /// Nobody sees it in the finished piece.
    pub hidden: bool,
    /// How to strike it: *214.3 mm from A, 180.0 from B; above the line A–B*.
    pub strike: String,
}

/// A mark that is there.
struct There {
    id: MarkId,
    letter: String,
    at: Point2<Flat>,
    section: Option<SectionId>,
    hidden: bool,
    found: Length,
}

fn found(words: &str) -> Length {
    let words = words.to_lowercase();
    let says = |any: &[&str]| any.iter().any(|w| words.contains(w));
    if says(&["seam"]) {
        SEAM
    } else if says(&["corner", "edge", "rim"]) {
        CORNER
    } else if says(&["pip", "dimple"]) {
        PIP
    } else {
        SCRIBED
    }
}

fn flat([x, y]: [f64; 2]) -> Point2<Flat> {
    Point2::from_mm(x, y)
}

fn there(job: &Job, view: &FaceView) -> Vec<There> {
    view.marks
        .iter()
        .filter_map(|m| match m.stands {
            Stands::Held { at_mm, .. } => Some(There {
                section: job.marks.get(&m.mark).and_then(|e| e.section.clone()),
                letter: m.letter.clone(),
                at: flat(at_mm),
                hidden: m.hidden,
                found: found(&m.found),
                id: m.mark.clone(),
            }),
            _ => None,
        })
        .collect()
}

/// The section a place is in: that of the mark nearest to it.
fn section_at(marks: &[There], at: Point2<Flat>) -> Option<SectionId> {
    let near = marks.iter().min_by(|a, b| {
        let far = |m: &There| (m.at - at).norm_mm();
        far(a).total_cmp(&far(b))
    });
    near.and_then(|m| m.section.clone())
}

/// Everything that the choice is made from.
struct Ground {
    view: FaceView,
    marks: Vec<There>,
    lands: Vec<Lands>,
    titles: Vec<String>,
    /// The marks each feature follows now.
    follows: Vec<Vec<usize>>,
    candidates: Vec<Candidate>,
}

fn ground(source: &Source<'_>, face: &FaceId) -> Result<Ground, PrepareError> {
    let job = source.job;
    let view = face_view(source, face)?;
    let marks = there(job, &view);
    let mut sections: Vec<Option<SectionId>> = Vec::new();
    let mut number = |section: Option<SectionId>| {
        sections
            .iter()
            .position(|s| *s == section)
            .unwrap_or_else(|| {
                sections.push(section);
                sections.len() - 1
            })
    };
    let (mut lands, mut titles, mut follows) = (Vec::new(), Vec::new(), Vec::new());
    for feature in &view.features {
        let Stands::Held { at_mm, .. } = feature.stands else {
            continue;
        };
        let Some(edit) = job.features.get(&feature.feature) else {
            continue;
        };
        let middle = flat(at_mm);
        let mut outline: Vec<Point2<Flat>> =
            feature.outline.iter().flatten().map(|p| flat(*p)).collect();
        outline.push(middle);
        let of_rule: Vec<&MarkId> = edit.rule.as_ref().map(RuleSpec::marks).unwrap_or_default();
        follows.push(
            (0..marks.len())
                .filter(|k| of_rule.is_empty() || of_rule.contains(&&marks[*k].id))
                .collect(),
        );
        titles.push(feature.title.clone());
        lands.push(Lands {
            section: number(section_at(&marks, middle)),
            middle,
            outline,
            asked: edit
                .tolerance
                .filter(|t| t.mm() > 0.0)
                .unwrap_or(super::super::feature::USUAL_TOLERANCE),
        });
    }
    // The face is known to reach as far as what stands on it.
    let all: Vec<Point2<Flat>> = marks
        .iter()
        .map(|m| m.at)
        .chain(lands.iter().flat_map(|l| l.outline.iter().copied()))
        .collect();
    let mut candidates = Vec::new();
    if let Some([l, b, r, t]) = bounds(&all) {
        let step = ((r - l).max(t - b) / f64::from(TRIED)).max(1.0);
        let clear = |p: Point2<Flat>| {
            let off = |q: &Point2<Flat>| (*q - p).norm_mm() >= CLEAR_MM;
            lands
                .iter()
                .all(|l| l.outline.iter().all(off) && !inside(&l.outline, p))
                && marks.iter().all(|m| off(&m.at))
        };
        let across = whole((r - l) / step);
        let up = whole((t - b) / step);
        for i in 0..=across {
            for j in 0..=up {
                let at = Point2::from_mm(l + step * f64::from(i), b + step * f64::from(j));
                if clear(at) {
                    candidates.push(Candidate {
                        at,
                        section: number(section_at(&marks, at)),
                        hidden: marks
                            .iter()
                            .any(|m| m.hidden && (m.at - at).norm_mm() < BESIDE_HIDDEN_MM),
                    });
                }
            }
        }
    }
    Ok(Ground {
        view,
        marks,
        lands,
        titles,
        follows,
        candidates,
    })
}

/// Whole steps in a length of so many, no more than are tried.
fn whole(steps: f64) -> u32 {
    (0..=TRIED)
        .rev()
        .find(|k| f64::from(*k) <= steps + 1e-9)
        .unwrap_or(0)
}

fn bounds(all: &[Point2<Flat>]) -> Option<[f64; 4]> {
    let first = all.first()?;
    let start = [first.x_mm(), first.y_mm(), first.x_mm(), first.y_mm()];
    Some(all.iter().fold(start, |[l, b, r, t], p| {
        [
            l.min(p.x_mm()),
            b.min(p.y_mm()),
            r.max(p.x_mm()),
            t.max(p.y_mm()),
        ]
    }))
}

/// Whether a place lies in a run of points (the crossing rule).
fn inside(run: &[Point2<Flat>], p: Point2<Flat>) -> bool {
    let mut within = false;
    for (k, a) in run.iter().enumerate() {
        let Some(b) = run.get((k + 1) % run.len().max(1)) else {
            continue;
        };
        let (ay, by) = (a.y_mm(), b.y_mm());
        if (ay > p.y_mm()) != (by > p.y_mm()) {
            let x = a.x_mm() + (p.y_mm() - ay) / (by - ay) * (b.x_mm() - a.x_mm());
            within ^= p.x_mm() < x;
        }
    }
    within
}

fn strike(
    marks: &[There],
    development: &Development,
    surface: &Surface,
    at: Point2<Flat>,
) -> Option<String> {
    let seen: Vec<Point2<Flat>> = marks.iter().map(|m| Point2::ORIGIN + (m.at - at)).collect();
    let chosen = swings(&seen).ok()?;
    let place = development.face(at).ok()?;
    let far = |k: usize| {
        let mark = development.face(marks.get(k)?.at).ok()?;
        let turns = surface.nearest_turns(place, mark);
        Some(surface.over_surface(place, mark, turns).ok()?.mm)
    };
    let (a, b) = (marks.get(chosen.first)?, marks.get(chosen.second)?);
    Some(format!(
        "{} mm from {}, {} mm from {}, over the surface; {} the line {}–{}",
        tenth(Length::from_mm(far(chosen.first)?)),
        a.letter,
        tenth(Length::from_mm(far(chosen.second)?)),
        b.letter,
        chosen.side(),
        a.letter,
        b.letter,
    ))
}

fn cannot(view: &FaceView, why: &impl ToString) -> PrepareError {
    PrepareError::Size {
        face: view.name.clone(),
        why: why.to_string(),
    }
}

/// Pips for a face of the pattern.
///
/// # Errors
/// [`PrepareError`]: nothing is set out yet, or there is no room.
pub fn pips(source: &Source<'_>, face: &FaceId) -> Result<PipsView, PrepareError> {
    let g = ground(source, face)?;
    let chosen = fewest(&g.candidates, &g.lands, PIP).map_err(|why| cannot(&g.view, &why))?;
    let open = opened(source.job, face)?;
    let picked: Vec<&Candidate> = chosen.iter().filter_map(|k| g.candidates.get(*k)).collect();
    let pips: Vec<PipView> = (1..)
        .zip(&picked)
        .map(|(n, c)| PipView {
            name: format!("P{n}"),
            at_mm: [c.at.x_mm(), c.at.y_mm()],
            hidden: c.hidden,
            strike: open
                .placed
                .marks
                .as_ref()
                .zip(open.picture.as_ref())
                .and_then(|(marks, picture)| {
                    let surface = &marks.adjusted.surface;
                    strike(&g.marks, &picture.development, surface, c.at)
                })
                .unwrap_or_else(|| "take its place from the drilling sheet".to_owned()),
        })
        .collect();
    let mut gains = Vec::new();
    for ((land, title), follows) in g.lands.iter().zip(&g.titles).zip(&g.follows) {
        let with: Vec<_> = picked
            .iter()
            .filter(|c| c.section == land.section)
            .map(|c| (c.at, PIP))
            .collect();
        let Some(with) = leaves(&with, &land.outline) else {
            continue;
        };
        let now: Vec<(Point2<Flat>, Length)> = follows
            .iter()
            .filter_map(|k| {
                let m = g.marks.get(*k)?;
                // A mark across the seam carries its step.
                let own = section_at(&g.marks, land.middle) == m.section;
                let step = if own { 0.0 } else { STEP.mm() };
                Some((m.at, Length::from_mm(libm::hypot(m.found.mm(), step))))
            })
            .collect();
        let letters: Vec<&str> = follows
            .iter()
            .filter_map(|k| Some(g.marks.get(*k)?.letter.as_str()))
            .collect();
        gains.push(match leaves(&now, &land.outline) {
            Some(now) => format!(
                "{title}: laid on these it lands within ± {} mm, on {} as they are found now ± {}",
                tenth(with),
                letters.join(", "),
                tenth(now)
            ),
            None => format!(
                "{title}: laid on these it lands within ± {} mm",
                tenth(with)
            ),
        });
    }
    let mut notes = vec![format!(
        "Before the mould is made: drill each {} mm wide and {} mm deep into the pattern. Every casting then shows it",
        mm(ACROSS),
        mm(DEEP)
    )];
    if !picked.iter().any(|c| c.hidden) {
        notes.push(
            "None of these is hidden: say of a mark on this face that it is, and one goes beside it"
                .to_owned(),
        );
    }
    let developable = open
        .placed
        .marks
        .as_ref()
        .is_some_and(|m| m.adjusted.surface.is_developable());
    if !developable {
        notes.push(
            "This face is round both ways and paper bridges it: strike each by its two distances, and use the sheet to look"
                .to_owned(),
        );
    }
    Ok(PipsView { pips, gains, notes })
}

/// The true-size sheet to drill them by, laid on marks that are there.
///
/// # Errors
/// As [`pips`], and a paper on which nothing fits.
pub fn pip_sheet(
    source: &Source<'_>,
    face: &FaceId,
    paper: Paper,
    day: &str,
) -> Result<Drawing, PrepareError> {
    let job = source.job;
    let view = pips(source, face)?;
    let g = ground(source, face)?;
    let n = view.pips.len().max(1) as f64;
    let middle = view.pips.iter().fold([0.0, 0.0], |[x, y], p| {
        [x + p.at_mm[0] / n, y + p.at_mm[1] / n]
    });
    let onto = |p: Point2<Flat>| Point2::from_mm(p.x_mm() - middle[0], p.y_mm() - middle[1]);
    let edges: Vec<FlatPath> = g
        .view
        .features
        .iter()
        .flat_map(|f| &f.outline)
        .filter_map(|run| {
            let points: Vec<_> = run.iter().map(|p| onto(flat(*p))).collect();
            FlatPath::polyline(&points, true)
        })
        .collect();
    let holes = view
        .pips
        .iter()
        .map(|p| DrillHole {
            number: p.name.clone(),
            place: onto(flat(p.at_mm)),
            across: ACROSS,
            bush: None,
            leans: None,
            says: vec![format!("Ø {}, {} deep", mm(ACROSS), mm(DEEP))],
        })
        .collect();
    let letters: Vec<&str> = g.marks.iter().map(|m| m.letter.as_str()).collect();
    let words = Words {
        feature: "marks for the pattern".to_owned(),
        kind: "drilling sheet".to_owned(),
        laying: match letters.as_slice() {
            [a, b, ..] => {
                format!("Put {a} on {a}, then turn until {b} lies on the line {a}–{b}.")
            }
            _ => String::new(),
        },
        cautions: vec![
            "Goggles and a dust mask. A collar on the bit: the pattern is not drilled through."
                .to_owned(),
        ],
        warnings: view
            .pips
            .iter()
            .map(|p| format!("{}: {}", p.name, p.strike))
            .chain(view.notes.iter().cloned())
            .collect(),
        ..face_words(job, face, &g.view, day)
    };
    let sheet = TemplateSheet {
        paint_edges: edges,
        holes,
        crosses: g
            .marks
            .iter()
            .map(|m| Cross {
                letter: m.letter.clone(),
                place: onto(m.at),
                off_by: None,
                suspect: None,
            })
            .collect(),
        words,
        setup: SheetSetup {
            paper,
            ..SheetSetup::default()
        },
        ..TemplateSheet::default()
    };
    compose(&sheet).map_err(|why| cannot(&g.view, &why))
}
