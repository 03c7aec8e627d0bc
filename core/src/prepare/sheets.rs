//! From a prepared template to its sheets, their reference, and whether an older print still holds.

use super::Source;
use super::error::PrepareError;
use super::feature::{CrossMiss, Prepared, prepare_sheet};
use super::gores::gore_sheet;
use super::hatch::CAUTIONS as SAW_CAUTIONS;
use super::holes::{CAUTIONS, DEFERS, HolePlace};
use super::issue_now::issue_digest;
use super::patches::patch_sheets;
use super::printer::Printing;
use super::proving;
use super::rack::check_distances;
use super::shell::is_shell;
use super::words::{CUT_OUT, drawn_words, mm, sheet_title, tenth};
use crate::frames::{Flat, Point2};
use crate::job::{
    CheckDistance, FaceId, Hand as JobHand, IssueEdit, Job, OutlineSpec, PieceId, Printed,
    PrintedInputs, SheetOf,
};
use crate::outline::{Bounds, Outline};
use crate::sheet::{
    AsDrawnCross, Cross, Drawing, DrillHole, FlatPath, Hand, Paper, SheetSetup, TemplateSheet,
    Words, WorstError, base32, compose_together,
};
use crate::template::{Budget, Laid};
use crate::units::Length;
use serde::Serialize;
use sha2::{Digest, Sha256};

/// A template with its sheets.
#[derive(Debug, Clone)]
pub struct Issued {
    /// What was worked out.
    pub prepared: Prepared,
    /// Its sheets.
    pub drawing: Drawing,
    /// What it was made from, to be kept with a *printed* fact.
    pub inputs: PrintedInputs,
    /// Long distances that prove the finished template.
    pub distances: Vec<CheckDistance>,
    /// Size of the template on the paper: across and up, mm.
    pub size_mm: (f64, f64),
}

/// Marks further than this from where the drawing has them are shown there too, mm.
const WORTH_SHOWING_MM: f64 = 2.0;

/// Works out a template for one piece and lays it out on sheets.
///
/// `day` is the date as printed; it comes from the caller, never from a clock.
///
/// # Errors
/// [`PrepareError`].
pub fn issue(
    source: &Source<'_>,
    of: impl Into<SheetOf>,
    piece: &PieceId,
    paper: Paper,
    day: &str,
) -> Result<Issued, PrepareError> {
    let of = of.into();
    let prepared = prepare_sheet(source, &of, piece)?;
    let flat = in_the_flat(source, &prepared, paper, day);
    let drawing = compose_together(&flat)?;
    // The bars of their own sheets prove a gore and each patch.
    let distances = match flat.as_slice() {
        [sheet] if prepared.gores.is_none() => check_distances(&prepared, sheet, &drawing),
        _ => Vec::new(),
    };
    let inputs = inputs_of(source, &of, piece, paper);
    let size_mm = reach(&prepared);
    Ok(Issued {
        prepared,
        drawing,
        inputs,
        distances,
        size_mm,
    })
}

/// A template before it is laid on paper: one, or one for each patch.
pub(super) fn in_the_flat(
    source: &Source<'_>,
    prepared: &Prepared,
    paper: Paper,
    day: &str,
) -> Vec<TemplateSheet> {
    let sheet = template_sheet(source, prepared, paper, day);
    // A quick template is never in patches or gores: the module that makes it does without.
    let whole = cfg!(feature = "every-kind");
    match &prepared.gores {
        Some(gores) if whole => vec![gore_sheet(sheet, gores)],
        _ if !whole || prepared.patches.is_empty() => vec![sheet],
        _ => patch_sheets(&sheet, &prepared.patches, None),
    }
}

fn paths(outline: &Outline<Flat>) -> Vec<FlatPath> {
    outline
        .contours()
        .iter()
        .flat_map(|c| FlatPath::from_bezier(c.path_mm()))
        .collect()
}

fn reach(prepared: &Prepared) -> (f64, f64) {
    let mut bounds = prepared.paint_edge.bounds();
    for hole in &prepared.holes {
        let at = Bounds::at(hole.at);
        bounds = Some(bounds.map_or(at, |b| b.union(at)));
    }
    for cross in prepared.crosses.iter().filter(|c| c.gone.is_none()) {
        bounds = bounds.map(|b| b.holding(cross.at));
    }
    bounds.map_or((0.0, 0.0), |b| (b.width().mm(), b.height().mm()))
}

pub(super) fn template_sheet(
    source: &Source<'_>,
    prepared: &Prepared,
    paper: Paper,
    day: &str,
) -> TemplateSheet {
    let job = source.job;
    let printing = Printing::of(job, paper);
    let bounds = prepared.paint_edge.bounds();
    let centre_lines = bounds.map_or_else(Vec::new, |b| {
        let (w, h) = (b.width().mm() / 2.0 + 8.0, b.height().mm() / 2.0 + 8.0);
        vec![
            [Point2::from_mm(-w, 0.0), Point2::from_mm(w, 0.0)],
            [Point2::from_mm(0.0, -h), Point2::from_mm(0.0, h)],
        ]
    });
    // A mark that nothing was read to on this piece holds no cross: the drawing is no register.
    let crosses = prepared
        .crosses
        .iter()
        .filter(|c| !c.unread && c.gone.is_none())
        .map(drawn_cross)
        .collect();
    let as_drawn = prepared
        .crosses
        .iter()
        .filter(|c| {
            c.gone.is_none() && (c.on_drawing + c.eased - c.at).norm_mm() > WORTH_SHOWING_MM
        })
        .map(|c| AsDrawnCross {
            letter: c.letter.clone(),
            place: c.on_drawing + c.eased,
        })
        .collect();
    TemplateSheet {
        underlay: None,
        paint_edges: paths(&prepared.paint_edge),
        cuts: prepared.cut.as_ref().map(paths).unwrap_or_default(),
        centre_lines,
        grid: false,
        crosses,
        ticks: prepared
            .hatch
            .iter()
            .flat_map(|h| h.ticks.clone())
            .collect(),
        holes: prepared.holes.iter().map(drill_hole).collect(),
        darts: prepared.darts.clone(),
        arms: is_shell(&prepared.of),
        kept: false,
        edges: prepared.edges.clone(),
        joins: Vec::new(),
        as_drawn,
        words: words(job, prepared, &printing, day),
        setup: SheetSetup {
            paper,
            ..SheetSetup::default()
        },
        correction: printing.correction,
    }
}

pub(super) fn drawn_cross(cross: &CrossMiss) -> Cross {
    Cross {
        letter: cross.letter.clone(),
        place: cross.at,
        off_by: Some(if cross.touches {
            "on its edge".into()
        } else if cross.within.to_um() < 50 {
            "on the mark".into()
        } else {
            format!("within {} mm", tenth(cross.within))
        }),
        suspect: None,
    }
}

pub(super) fn worst_error(budget: &Budget, allowed: Length) -> WorstError {
    let terms = budget.terms.iter();
    WorstError {
        worst: budget.worst,
        allowed,
        terms: terms.map(|t| (t.kind.name().to_owned(), t.size)).collect(),
    }
}

fn drill_hole(hole: &HolePlace) -> DrillHole {
    let mut says = vec![match hole.bush {
        Some(bush) => format!("drill {} in a bush {}", mm(hole.drill), mm(bush)),
        None => format!("Ø {}", mm(hole.drill)),
    }];
    if hole.leans.is_some() {
        says.push(format!("leans {}", hole.words));
    }
    says.push(format!("within {}", tenth(hole.budget.worst)));
    DrillHole {
        number: hole.number.to_string(),
        place: hole.at,
        across: hole.drill,
        bush: hole.bush,
        leans: hole.leans,
        says,
    }
}

/// What the words of a sheet are taken from.
struct Subject<'a> {
    name: Option<String>,
    hand: Option<JobHand>,
    face: Option<FaceId>,
    finish: Option<String>,
    kind: &'a str,
}

fn subject(job: &Job, of: &SheetOf, number: u32) -> Subject<'static> {
    match of {
        SheetOf::Feature(id)
        | SheetOf::Shell(id)
        | SheetOf::Patches(id)
        | SheetOf::Gores(id)
        | SheetOf::Rods(id) => {
            let edit = job.in_force(id, number).map(|f| f.edit.into_owned());
            let edit = edit.unwrap_or_default();
            Subject {
                name: edit.name,
                hand: edit.hand,
                face: edit.face,
                finish: edit.finish,
                kind: match of {
                    SheetOf::Shell(_) => "shell",
                    SheetOf::Gores(_) => "gore",
                    _ => "",
                },
            }
        }
        SheetOf::Pair(id) => {
            let pair = job.pairs.get(id).cloned().unwrap_or_default();
            let left = pair
                .left
                .and_then(|f| job.in_force(&f, number).map(|i| i.edit.into_owned()));
            let left = left.unwrap_or_default();
            Subject {
                name: pair.name,
                hand: None,
                face: left.face,
                finish: left.finish,
                kind: "",
            }
        }
        SheetOf::Fixing(id) | SheetOf::Jig(id) | SheetOf::Plate(id) => {
            let edit = job.fixings.get(id).cloned().unwrap_or_default();
            Subject {
                name: edit.name,
                hand: edit.hand,
                face: edit.face,
                finish: None,
                kind: match of {
                    SheetOf::Jig(_) => "jig",
                    SheetOf::Plate(_) => "setting plate",
                    _ => "drill template",
                },
            }
        }
    }
}

fn words(job: &Job, prepared: &Prepared, printing: &Printing, day: &str) -> Words {
    let number = job.pieces.get(&prepared.piece).and_then(|p| p.number);
    let subject = subject(job, &prepared.of, number.unwrap_or(0));
    let face = subject.face.as_ref().and_then(|f| job.faces.get(f));
    let part = face
        .and_then(|f| f.part.as_ref())
        .and_then(|p| job.parts.get(p));
    let issue = job.issue_of_sheet(&prepared.of, number.unwrap_or(0));
    let piece = number.map_or_else(|| prepared.piece.to_string(), |n| n.to_string());
    let text = |s: Option<&String>| s.cloned().unwrap_or_default();
    let offset = prepared.offset;
    let cut = (offset.to_um() != 0).then(|| (offset.abs(), offset.mm() > 0.0));
    let seen = (subject.face.as_ref())
        .and_then(|f| super::setout::seen_from(job, f))
        .unwrap_or_default();
    Words {
        job: text(job.about.title.as_ref()),
        part: text(part.and_then(|p| p.name.as_ref())),
        face: text(face.and_then(|f| f.name.as_ref())),
        feature: text(subject.name.as_ref()),
        hand: match subject.hand {
            Some(JobHand::Left) => Hand::Left,
            Some(JobHand::Right) => Hand::Right,
            None => Hand::None,
        },
        piece: piece.clone(),
        serves: vec![piece],
        issue: issue.and_then(|(_, i)| i.number).unwrap_or(1),
        issue_date: text(issue.and_then(|(_, i)| i.date.as_ref())),
        template_number: "1".into(),
        kind: match prepared.hatch {
            Some(_) => CUT_OUT.into(),
            None => subject.kind.into(),
        },
        finish: text(subject.finish.as_ref()),
        prepared_for: text(job.about.prepared_for.as_ref()),
        laying: prepared.laying_words.clone(),
        up_note: String::new(),
        seen_from: if seen.is_empty() {
            String::new()
        } else {
            format!("seen from outside, {seen}")
        },
        hand_check: None,
        worst_error: Some(worst_error(&prepared.budget, prepared.allowed)),
        instead_of_nominal: prepared.instead.clone(),
        lines: "",
        allowance: if single_lines(job, &prepared.of, number.unwrap_or(0)) {
            format!(
                "letters, {}: drawn, routed or pricked along their lines",
                prepared.size_words
            )
        } else if prepared
            .paint_edge
            .contours()
            .iter()
            .all(|c| !c.is_closed())
            && prepared.holes.is_empty()
        {
            format!(
                "lines, {}: drawn, routed or pricked along as drawn",
                prepared.size_words
            )
        } else if prepared.holes.is_empty() {
            let edge = prepared.hatch.as_ref().map_or("paint edge", |_| "saw line");
            drawn_words(edge, &prepared.size_words, cut, prepared.allowance.name)
        } else {
            prepared.size_words.clone()
        },
        plug: prepared.hatch.as_ref().map(|h| h.plug.clone()),
        holes: prepared.holes.iter().map(hole_line).collect(),
        marker: format!("{}: {}", prepared.allowance.name, prepared.allowance.mind),
        material: match prepared.of {
            SheetOf::Jig(_) | SheetOf::Plate(_) => format!(
                "plate at least {} mm thick{}",
                mm(prepared.thickness),
                prepared.leaves
            ),
            SheetOf::Shell(_) => "this sheet is paper; the shell is laminate".to_owned(),
            _ => format!(
                "{} {} mm, laid outside{}",
                Laid::named(prepared.thickness).unwrap_or("sheet"),
                mm(prepared.thickness),
                prepared.leaves
            ),
        },
        cautions: if is_shell(&prepared.of) {
            super::shell::cautions()
        } else {
            let all: &[&str] = match prepared.hatch {
                Some(_) => &SAW_CAUTIONS,
                None if prepared.holes.is_empty() => &[],
                None => &CAUTIONS,
            };
            let defers = (!all.is_empty()).then_some(&DEFERS);
            all.iter().chain(defers).map(|c| format!("{c}.")).collect()
        },
        warnings: not_approved(issue.map(|(_, i)| i))
            .into_iter()
            .chain(prepared.warnings.iter().map(|w| sentence(w)))
            .collect(),
        proof: printing.state(prepared),
        unsigned: issue.is_some_and(|(_, i)| !i.approved()),
        proving: proving::stamp(job, &prepared.of, std::slice::from_ref(&prepared.piece)),
        address: printing.address_of(job, prepared),
        printer: printing.name.clone(),
        supersedes: String::new(),
        program: format!("Samespot {}", env!("CARGO_PKG_VERSION")),
        date: day.to_owned(),
        invented: if job.about.invented == Some(true) {
            "INVENTED EXAMPLE".into()
        } else {
            String::new()
        },
    }
}

/// What it carries is lettering in single lines, of which nothing is cut out.
fn single_lines(job: &Job, of: &SheetOf, number: u32) -> bool {
    let outline = of
        .feature()
        .and_then(|f| job.in_force(f, number)?.edit.outline.clone());
    matches!(outline, Some(OutlineSpec::Strokes { .. }))
}

/// *Hole 1: 9° up and right, within 1.4 mm (measuring 1.1, drilling 0.8)*.
fn hole_line(hole: &HolePlace) -> String {
    format!(
        "Hole {}: {}, {}",
        hole.number,
        hole.words,
        hole.error_words()
    )
}

/// What stands first on a sheet of an issue that nobody has signed.
fn not_approved(issue: Option<&IssueEdit>) -> Option<String> {
    let issue = issue.filter(|i| !i.approved())?;
    Some(format!(
        "NOT APPROVED: nobody has signed issue {} yet.",
        issue.number.unwrap_or(0)
    ))
}

/// A note as a sentence of its own: capital first, full stop last.
fn sentence(note: &str) -> String {
    let mut letters = note.chars();
    let mut text: String = letters
        .next()
        .map(|c| c.to_uppercase().collect())
        .unwrap_or_default();
    text.push_str(letters.as_str());
    if !text.ends_with(['.', '?', '!']) {
        text.push('.');
    }
    text
}

pub(super) fn digest(of: &impl Serialize) -> String {
    let text = serde_json::to_string(of).unwrap_or_default();
    let mut letters = base32(&Sha256::digest(text.as_bytes()));
    letters.truncate(10);
    letters
}

/// What drawings are corrected by, to be compared; nothing where they are not.
fn correction_in(job: &Job, paper: Paper) -> String {
    let correction = Printing::of(job, paper).correction;
    correction.map_or_else(String::new, |c| format!("{:.6} {:.6}", c.across, c.up))
}

fn inputs_of(source: &Source<'_>, of: &SheetOf, piece: &PieceId, paper: Paper) -> PrintedInputs {
    let job = source.job;
    let number = job.number_of(piece);
    let carried = job.carried_by(of).into_iter();
    let in_force: Vec<_> = carried.filter_map(|f| job.in_force(f, number)).collect();
    let features: Vec<_> = in_force.iter().map(|f| f.edit.as_ref()).collect();
    let feature = features.first().copied();
    let fixing = of.fixing().and_then(|f| job.fixings.get(f));
    let face = feature
        .and_then(|f| f.face.as_ref())
        .or_else(|| fixing?.face.as_ref());
    let marks: Vec<_> = job
        .marks
        .iter()
        .filter(|(_, m)| m.face.as_ref() == face)
        .collect();
    let part = face
        .and_then(|f| job.faces.get(f))
        .and_then(|f| f.part.clone());
    let castings: Vec<_> = part
        .iter()
        .flat_map(|p| [job.casting_of(piece, p), job.pattern_of(p)])
        .flatten()
        .collect();
    // The value as understood and how it was taken; not how it was typed.
    let mut read: Vec<_> = castings
        .iter()
        .flat_map(|casting| job.readings.about(*casting))
        .collect();
    read.sort_by_key(|r| (r.lamport, r.id));
    read.dedup_by_key(|r| r.id);
    let readings: Vec<_> = read
        .into_iter()
        .map(|r| {
            (
                &r.says.casting,
                &r.says.of,
                r.says.value.mm,
                &r.says.instrument,
                r.says.hooked,
                &r.says.set_aside,
            )
        })
        .collect();
    let edges: Vec<_> = (job.edges.iter())
        .filter(|(_, e)| e.face.as_ref() == face)
        .collect();
    // A setting plate comes before them.
    let cured: Vec<_> = match of {
        SheetOf::Plate(_) => Vec::new(),
        _ => of
            .fixing()
            .map_or_else(Vec::new, |f| job.cured_of(piece, f)),
    };
    PrintedInputs {
        issue: issue_digest(job, of, number),
        design: match fixing {
            Some(fixing) => digest(&(fixing, face.and_then(|f| job.faces.get(f)), &marks)),
            None if features.len() > 1 => {
                digest(&(&features, face.and_then(|f| job.faces.get(f)), &marks))
            }
            None => digest(&(feature, face.and_then(|f| job.faces.get(f)), &marks)),
        },
        readings: match cured.as_slice() {
            [] => digest(&(&readings, &job.instruments)),
            cured => digest(&(&readings, &job.instruments, cured)),
        },
        edges: Some(digest(&edges)),
        paper: serde_json::to_string(&paper).unwrap_or_default(),
        printer: correction_in(job, paper),
        program: env!("CARGO_PKG_VERSION").to_owned(),
    }
}

/// What a template for several pieces was made from: each part changes when it changes for one of them.
pub(super) fn inputs_of_all(
    source: &Source<'_>,
    of: &SheetOf,
    pieces: &[PieceId],
    paper: Paper,
) -> PrintedInputs {
    let all: Vec<PrintedInputs> = pieces
        .iter()
        .map(|piece| inputs_of(source, of, piece, paper))
        .collect();
    let part_of =
        |part: fn(&PrintedInputs) -> &String| digest(&all.iter().map(part).collect::<Vec<_>>());
    PrintedInputs {
        issue: part_of(|i| &i.issue),
        design: part_of(|i| &i.design),
        readings: part_of(|i| &i.readings),
        edges: Some(digest(&all.iter().map(|i| &i.edges).collect::<Vec<_>>())),
        paper: serde_json::to_string(&paper).unwrap_or_default(),
        printer: correction_in(source.job, paper),
        program: env!("CARGO_PKG_VERSION").to_owned(),
    }
}

impl Issued {
    /// The *printed* fact for this sheet, to be recorded when it has been printed or downloaded.
    #[must_use]
    pub fn printed(&self, day: &str) -> Printed {
        Printed {
            of: self.prepared.of.clone(),
            pieces: vec![self.prepared.piece.clone()],
            reference: self.drawing.reference.clone(),
            day: day.to_owned(),
            inputs: self.inputs.clone(),
            distances: self.distances.clone(),
        }
    }

    /// *Eye, left, on piece 7*.
    #[must_use]
    pub fn title(&self, job: &Job) -> String {
        let name = sheet_title(job, &self.prepared.of);
        let piece = job
            .pieces
            .get(&self.prepared.piece)
            .and_then(|p| p.number)
            .map_or_else(|| self.prepared.piece.to_string(), |n| n.to_string());
        format!("{name}, on piece {piece}")
    }

    /// *2 sheets of A3*.
    #[must_use]
    pub fn paper_words(&self, paper: Paper) -> String {
        match self.drawing.pages.len() {
            1 => format!("1 sheet of {}", paper.name()),
            n => format!("{n} sheets of {}", paper.name()),
        }
    }

    /// *184 × 122 mm*.
    #[must_use]
    pub fn size_words(&self) -> String {
        let part = |x: f64| mm(Length::from_mm(x));
        format!("{} × {} mm", part(self.size_mm.0), part(self.size_mm.1))
    }
}
