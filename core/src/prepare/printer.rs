//! The printer in use: what its proof says of a template, in words for the screen and the sheet.

use super::feature::Prepared;
use super::words::mm;
use crate::job::{ClassMark, Entry, Job, PrinterId, ProofFact};
use crate::outline::FLATTENING;
use crate::proof::{Bears, Direction, Plan, Proves, Rule, Strain, TapeSays, judge, suspects};
use crate::readings::TapeClass;
use crate::sheet::{Paper, ProofState, ScaleCorrection};
use crate::units::Length;
use serde::{Deserialize, Serialize};

/// A change of scale beyond this is no printer's own: the page was fitted or zoomed, and is to be
/// printed again rather than corrected (copiers: 1 % to 2 % at most, shared/checks M1, M2).
const MOST_CORRECTED: f64 = 0.02;
/// What paper alone does between dry and damp (shared/checks M3): not worth a suspect.
const PAPER: f64 = 0.005;

/// Readings of a proof page as they are typed, before they are kept.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ProofTyped {
    /// A to B.
    pub across: Length,
    /// A to D.
    pub up: Length,
    /// A to C.
    pub rising: Option<Length>,
    /// B to D.
    pub falling: Option<Length>,
    /// The class on the rule's blade.
    pub class: ClassMark,
    /// The least step read.
    pub step: Length,
}

/// What a proof comes to, in words.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ProofSays {
    /// What that means, first of all: *True within 0.2 in 100: proves …*; or what is wrong.
    #[serde(default)]
    pub verdict: String,
    /// One sentence of what was found: *True to size within 0.2 %*.
    pub lead: String,
    /// It may be used as it is.
    pub good: bool,
    /// Both scales and the lean, a line each.
    pub lines: Vec<String>,
    /// What may have done it; all that fit, none picked.
    pub suspects: Vec<String>,
    /// Drawings may be corrected by it, if somebody chooses to.
    pub may_correct: bool,
}

/// The proof page of a paper and what is known of the printer on it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ProofView {
    /// What the page holds.
    pub drawn: Plan,
    /// From corner to corner.
    pub diagonal: Length,
    /// What was typed just now, or the proof that is kept; why it says nothing, where it does not.
    pub says: Option<Result<ProofSays, String>>,
    /// Every template of the run against the proof that is kept, the hardest first.
    pub templates: Vec<ProvedTemplate>,
    /// The day of the proof that is kept.
    pub day: Option<String>,
    /// It is older than the job.
    pub questioned: Option<String>,
}

/// One template against a proof.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ProvedTemplate {
    /// *Eye, left*.
    pub name: String,
    /// It is proved.
    pub proved: bool,
    /// Why, or what would do.
    pub sentence: String,
}

pub(super) const fn class(mark: ClassMark) -> TapeClass {
    match mark {
        ClassMark::I => TapeClass::I,
        ClassMark::II => TapeClass::II,
        ClassMark::III => TapeClass::III,
    }
}

/// What typed readings come to.
///
/// # Errors
/// The sentence to show: which length is no print's, or that they contradict each other.
pub fn strain_of(drawn: Plan, typed: &ProofTyped) -> Result<Strain, String> {
    let says = TapeSays {
        across: typed.across,
        up: typed.up,
        rising: typed.rising,
        falling: typed.falling,
    };
    let rule = Rule {
        class: class(typed.class),
        step: typed.step,
    };
    judge(drawn, says, rule).map_err(|e| e.to_string())
}

fn typed_of(fact: &ProofFact) -> ProofTyped {
    let length = |e: &Option<Entry>| e.as_ref().map(|e| e.mm);
    ProofTyped {
        across: fact.across.mm,
        up: fact.up.mm,
        rising: length(&fact.rising),
        falling: length(&fact.falling),
        class: fact.class,
        step: fact.step,
    }
}

/// Parts of a whole as a percentage with its sign: *−2.7 %*.
fn percent(ratio: f64) -> String {
    let hundredths = libm::round(ratio * 10_000.0) / 100.0;
    let sign = if hundredths < 0.0 {
        "−"
    } else if hundredths > 0.0 {
        "+"
    } else {
        ""
    };
    format!("{sign}{:.2} %", hundredths.abs())
}

fn bound(ratio: f64) -> String {
    format!("{:.2} %", libm::ceil(ratio * 10_000.0) / 100.0)
}

fn direction(word: &str, d: Direction) -> String {
    let off = if libm::round((d.ratio - 1.0) * 10_000.0) == 0.0 {
        "as drawn".to_owned()
    } else {
        percent(d.ratio - 1.0)
    };
    format!("{word}: {off}, sure to ± {}", bound(d.within))
}

/// What a strain comes to, in words.
#[must_use]
pub fn proof_words(strain: &Strain, paper: Paper) -> ProofSays {
    let (a, u) = (strain.across, strain.up);
    let (known, within) = strain.worst();
    let mut lines = vec![direction("Across", a), direction("Up", u)];
    lines.push(match strain.skew {
        None => "Lean: not read. Type a diagonal too, or nothing is proved".into(),
        Some(s) => {
            let over = |angle: f64| Length::from_mm(angle.abs() * 300.0);
            let (lean, sure) = (over(s.angle.rad()), over(s.within.rad()));
            if s.angle.rad().abs() <= s.within.rad() {
                format!("Lean: none to be seen, sure to ± {} mm over 300", mm(sure))
            } else {
                let side = if s.angle.rad() > 0.0 { "right" } else { "left" };
                format!(
                    "Lean: {} mm to the {side} over 300, sure to ± {} mm",
                    mm(lean),
                    mm(sure)
                )
            }
        }
    });
    let off = |d: Direction| (d.ratio - 1.0).abs();
    let gross = off(a).max(off(u)) > MOST_CORRECTED;
    let differ = (a.ratio - u.ratio).abs() > libm::hypot(a.within, u.within);
    let mut why: Vec<String> = Vec::new();
    for d in [a, u] {
        if off(d) > PAPER {
            for cause in suspects(d.ratio, paper) {
                if !why.contains(&cause) {
                    why.push(cause);
                }
            }
        }
    }
    if differ {
        why.push("across and up differ: feed slip, rollers or damp paper. Print and measure a second page before correcting".into());
    }
    let shown = off(a) > a.within || off(u) > u.within;
    let lead = if gross && why.is_empty() {
        "Unknown scale: don’t use this print".to_owned()
    } else if gross {
        "Not at true size: print again at 100 %, nothing fitted to the page".to_owned()
    } else if shown {
        format!(
            "Out by {}, sure to ± {}",
            percent(known).trim_start_matches('+'),
            bound(within)
        )
    } else {
        format!(
            "True to size as far as this rule can tell: ± {}",
            bound(within)
        )
    };
    // To the next tenth: never better than it was found.
    let true_within = libm::ceil((known + within) * 1000.0) / 10.0;
    let verdict = if gross {
        "Proves nothing: this print is not at true size".to_owned()
    } else if strain.skew.is_none() {
        "Proves nothing yet: type a diagonal too, A–C or B–D".to_owned()
    } else if shown {
        format!(
            "Out by {:.1} in 100: print it again, or keep this and have sheets corrected for this printer",
            known * 100.0
        )
    } else {
        format!("True within {true_within:.1} in 100")
    };
    ProofSays {
        verdict,
        lead,
        good: !gross && !shown && strain.skew.is_some(),
        lines,
        suspects: why,
        may_correct: shown && !gross && strain.skew.is_some(),
    }
}

/// How sheets are printed: the printer in use, whether it is proved, by how much drawings are
/// corrected.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Printing {
    /// Printer and paper, as a sheet names them.
    pub(super) name: String,
    address: String,
    /// What drawings are corrected by; by choice only.
    pub(super) correction: Option<ScaleCorrection>,
    proof: Option<(Strain, String)>,
}

impl Printing {
    /// The job's printer on a paper.
    pub(super) fn of(job: &Job, paper: Paper) -> Self {
        let bare = Self {
            name: paper.name(),
            address: String::new(),
            correction: None,
            proof: None,
        };
        let Some(id) = job.about.printer.as_ref() else {
            return bare;
        };
        let Some(printer) = job.printers.get(id) else {
            return bare;
        };
        let name = printer.name.clone().unwrap_or_else(|| id.to_string());
        let name = format!("{name}, {}", paper.name());
        let proof = job.last_proof(id, paper).and_then(|p| {
            let strain = strain_of(p.says.drawn, &typed_of(&p.says)).ok()?;
            Some((strain, p.says.day.clone()))
        });
        let wanted = printer.corrected == Some(true);
        let correction = proof
            .as_ref()
            .filter(|(s, _)| wanted && proof_words(s, paper).may_correct)
            .map(|(s, _)| ScaleCorrection {
                across: 1.0 / s.across.ratio,
                up: 1.0 / s.up.ratio,
            });
        let proof = proof.map(|(s, day)| match correction {
            Some(_) => (s.corrected(), day),
            None => (s, day),
        });
        Self {
            name,
            address: printer.address.clone().unwrap_or_default(),
            correction,
            proof,
        }
    }

    /// Where the code on a sheet leads: the address typed for it with this feature on this piece.
    pub(super) fn address_of(&self, job: &Job, prepared: &Prepared) -> String {
        let base = self.address.trim().split('#').next().unwrap_or_default();
        if base.is_empty() {
            return String::new();
        }
        let base = base.trim_end_matches('/');
        let piece = &prepared.piece;
        let of = job.carried_by(&prepared.of);
        let job = &job.id;
        match of.first() {
            Some(feature) => format!("{base}/#/j/{job}/p/{piece}/{feature}"),
            None => format!("{base}/#/j/{job}/p/{piece}/holes"),
        }
    }

    /// Whether it proves a template.
    fn proves(&self, prepared: &Prepared) -> Option<(Proves, &str)> {
        let (strain, day) = self.proof.as_ref()?;
        Some((strain.proves(bears(prepared)), day))
    }

    /// What a sheet says of its size.
    pub(super) fn state(&self, prepared: &Prepared) -> ProofState {
        match self.proves(prepared) {
            Some((Proves::Yes, day)) => ProofState::Proved(day.to_owned()),
            _ => ProofState::NotProved,
        }
    }

    /// The same as a sentence.
    pub(super) fn words(&self, prepared: &Prepared) -> (bool, String) {
        let need = bears(prepared);
        let over = mm(need.over);
        let share = mm(need.share);
        match self.proves(prepared) {
            None => (
                false,
                "No proof of this printer on this paper: measure both bars".to_owned(),
            ),
            Some((Proves::Yes, day)) => (
                true,
                format!("Proved {day}: within {share} mm over {over} mm. Still read both bars"),
            ),
            Some((Proves::Out, _)) => (
                false,
                format!(
                    "The printer is out by more than {share} mm over {over} mm: correct it under Printer check"
                ),
            ),
            Some((Proves::NoDiagonal, _)) => (
                false,
                "The proof has no diagonal: read one, a leaning page goes unnoticed without it"
                    .to_owned(),
            ),
            Some((Proves::CannotTell { over: Some(long) }, _)) => (
                false,
                format!(
                    "This proof can’t tell {share} mm over {over} mm: it takes a class I rule and a larger page, with distances of {} mm",
                    mm(long)
                ),
            ),
            Some((Proves::CannotTell { over: None }, _)) => (
                false,
                format!(
                    "No proof page can tell {share} mm over {over} mm: measure the finished sheet from mark to outline"
                ),
            ),
        }
    }
}

/// What a template can bear: a quarter of its radius over the longest way from a cross to its
/// outline.
pub(super) fn bears(prepared: &Prepared) -> Bears {
    let mut outline = prepared.paint_edge.polylines(FLATTENING * 4.0);
    outline.push(prepared.holes.iter().map(|h| h.at).collect());
    let crosses = prepared
        .crosses
        .iter()
        .filter(|c| !c.unread && c.gone.is_none());
    let longest = crosses
        .flat_map(|c| {
            let from = c.at;
            outline.iter().flatten().map(move |p| (*p - from).norm_mm())
        })
        .fold(0.0_f64, f64::max);
    Bears::quarter_of(prepared.allowed, Length::from_mm(longest))
}

/// How far from its crosses the most exacting feature of a job is proved: *: proves templates that
/// may be out 2 mm, as far as 250 mm from a cross to the outline*.
fn far_enough(job: &Job, strain: &Strain) -> Option<String> {
    let (known, within) = strain.worst();
    let asked = job.features.values().filter_map(|f| f.tolerance);
    let least = asked
        .filter(|t| t.to_um() > 0)
        .min_by(|a, b| a.mm().total_cmp(&b.mm()))?;
    // A quarter of it is left to printer and paper; whole centimetres, so that nobody reads more into it.
    let far = libm::floor(least.mm() / 4.0 / (known + within).max(1e-6) / 10.0) * 10.0;
    (far > 0.0).then(|| {
        format!(
            ": proves templates that may be out {} mm, as far as {far:.0} mm from a cross to the outline",
            mm(least)
        )
    })
}

/// One sentence for a template on a paper, and whether it is proved.
#[must_use]
pub fn size_proved(job: &Job, prepared: &Prepared, paper: Paper) -> (bool, String) {
    Printing::of(job, paper).words(prepared)
}

/// The proof page of a paper, with what was typed or what is kept of a printer.
///
/// `prepared` are the templates of the run that can be made, to be held against the proof.
///
/// # Errors
/// A paper that is none, or too small.
pub fn proof_view(
    job: &Job,
    printer: Option<&PrinterId>,
    paper: Paper,
    typed: Option<&ProofTyped>,
    prepared: &[(String, Prepared)],
) -> Result<ProofView, crate::sheet::SheetError> {
    let drawn = crate::proof::plan(paper)?;
    let kept = printer.and_then(|p| job.last_proof(p, paper));
    let says = match (typed, kept) {
        (Some(typed), _) => Some(strain_of(drawn, typed)),
        (None, Some(kept)) => Some(strain_of(kept.says.drawn, &typed_of(&kept.says))),
        (None, None) => None,
    };
    let says = says.map(|strain| {
        strain.map(|strain| {
            let mut says = proof_words(&strain, paper);
            if says.good
                && let Some(proves) = far_enough(job, &strain)
            {
                says.verdict.push_str(&proves);
            }
            says
        })
    });
    let day = kept.map(|k| k.says.day.clone());
    let oldest = job.issues.values().filter_map(|i| i.date.as_deref()).min();
    let questioned = day
        .as_deref()
        .zip(oldest)
        .filter(|(day, job)| day < job)
        .map(|(day, job)| {
            format!("The proof of {day} is older than this job’s first issue of {job}: print and measure it again")
        });
    let printing = Printing::of(job, paper);
    let mut templates: Vec<(f64, ProvedTemplate)> = Vec::new();
    if kept.is_some() && job.about.printer.as_ref() == printer {
        for (name, p) in prepared {
            let (proved, sentence) = printing.words(p);
            let one = ProvedTemplate {
                name: name.clone(),
                proved,
                sentence,
            };
            templates.push((bears(p).ratio(), one));
        }
    }
    templates.sort_by(|a, b| a.0.total_cmp(&b.0));
    Ok(ProofView {
        drawn,
        diagonal: drawn.diagonal(),
        says,
        templates: templates.into_iter().map(|(_, t)| t).collect(),
        day,
        questioned,
    })
}
