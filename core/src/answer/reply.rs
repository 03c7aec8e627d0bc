//! What the core answers.

use crate::frames::{Flat, Point2};
use crate::job::{FeatureId, PieceId};
use crate::units::Length;
use serde::{Deserialize, Serialize};

/// A numbered answer.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Answer {
    /// The number of the question.
    pub number: u64,
    /// The answer, or why there is none.
    pub says: Result<Reply, Refusal>,
    /// The file asked for, beside the answer rather than in it.
    #[serde(skip)]
    pub bytes: Vec<u8>,
}

/// Why a question has no answer, in the user's words.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Refusal {
    /// The desk has not been given this job's facts: send them.
    UnknownJob,
    /// It can't be done as things stand.
    CannotDo {
        /// What is wrong and what to do, one sentence.
        sentence: String,
    },
}

/// An answer.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Reply {
    /// Facts were taken in.
    Known {
        /// How many facts of the job are known now.
        facts: usize,
    },
    /// The whole run.
    Survey(Survey),
    /// Castings, moulds and pieces with what they wait for.
    Run(crate::run::RunView),
    /// One template.
    Template(Box<TemplateView>),
    /// The picture that follows each keystroke.
    Live(Box<LivePicture>),
    /// One walk round a casting.
    Walk(Box<crate::prepare::walk::Walk>),
    /// What shows only over the run.
    Pooled(Vec<crate::prepare::walk::Pooled>),
    /// Every feature of a piece, as QA sees it.
    Checks {
        /// Each feature.
        features: Vec<crate::prepare::checks::FeatureCheck>,
        /// Each pair of which something was checked.
        pairs: Vec<crate::prepare::pair_checks::PairCheck>,
    },
    /// The checks of the whole run.
    RunChecks(Box<crate::prepare::run_checks::RunOverview>),
    /// How a record stands.
    Seal(crate::prepare::sign_off::SealView),
    /// Four gaps judged.
    Judged(Box<crate::prepare::checks::Judgement>),
    /// A hole judged.
    HoleJudged(Box<crate::prepare::holes::HoleJudgement>),
    /// What an issue means for the run.
    Amendment(Box<crate::prepare::amendments::AmendmentView>),
    /// The fewest templates of a feature.
    Fewest(Box<super::fewest::FewestView>),
    /// A feature's outline in patches.
    Patches(super::patches::PatchesView),
    /// One face set out.
    Face(Box<crate::prepare::setout::FaceView>),
    /// Pips for a face of the pattern.
    Pips(Box<crate::prepare::setout::PipsView>),
    /// The pattern on the gridded board.
    Board(Box<crate::prepare::setout::BoardView>),
    /// Readings of a spreadsheet, understood and not kept.
    Sheet(Box<crate::prepare::spreadsheet::SheetView>),
    /// A point put down on the picture of a face.
    DrawnPlace(crate::prepare::setout::DrawnPlace),
    /// A face in space; its corners stand beside.
    Solid(Box<crate::prepare::solid::SolidView>),
    /// How a figure sits.
    Seat(Box<crate::prepare::seat::SeatView>),
    /// A proof page and what it proves.
    Proof(Box<crate::prepare::printer::ProofView>),
    /// The history.
    History(Box<crate::prepare::history::HistoryView>),
    /// What going back would take back.
    GoingBack(Box<crate::prepare::history::GoingBack>),
    /// Two states beside each other.
    Compared(Box<crate::prepare::history::ComparedView>),
    /// The holes of a piece.
    Holes(Box<crate::prepare::holes::HolesView>),
    /// Templates as things.
    Rack(Box<super::rack::RackView>),
    /// Sheets of a run are made; they stand beside.
    RunPart {
        /// From how many facts: all parts of a run are made from the same.
        facts: usize,
    },
    /// A file was made; its bytes stand beside.
    File {
        /// What to call it.
        name: String,
        /// Its media type.
        media: String,
        /// How many pages it has.
        pages: usize,
        /// The sheets' references with what they carry, to be recorded as printed.
        printed: Vec<crate::job::Printed>,
        /// Templates that could not be made, each with its sentence; the rest are in the file.
        left_out: Vec<String>,
    },
}

/// The whole run at a glance.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Survey {
    /// Pieces in the order of their numbers.
    pub pieces: Vec<PieceSurvey>,
}

/// One piece at a glance.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PieceSurvey {
    /// Which piece.
    pub piece: PieceId,
    /// Its features in the order of the design.
    pub features: Vec<FeatureSurvey>,
}

/// One feature on one piece at a glance.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FeatureSurvey {
    /// Which feature.
    pub feature: FeatureId,
    /// Worst error of its own template and of the drawing's stencil; nothing when it can't be made.
    pub errors: Option<SurveyErrors>,
    /// Why it can't be made, and what to do.
    pub cannot: Option<String>,
    /// A printed sheet of it no longer matches, and why.
    pub stale: Option<String>,
    /// It has been printed.
    pub printed: bool,
}

/// The two numbers of the switch *as drawn / as measured*.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct SurveyErrors {
    /// The radius asked for.
    pub allowed: Length,
    /// This piece's own template, at worst (95 %).
    pub as_measured: Length,
    /// How far the drawing's own stencil would land from where it should.
    pub as_drawn: Length,
}

/// One term of the budget.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ErrorTerm {
    /// Its name: measuring, pattern, flattening, printing, laying on, marking.
    pub name: String,
    /// How much of the worst error it makes, at the worst point, as a 95 % radius.
    pub size: Length,
}

/// A register cross on the template.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CrossView {
    /// The datum's letter.
    pub letter: String,
    /// How it is found on the piece.
    pub found: String,
    /// How far it may be off when the template lies right, in words.
    pub off_by: String,
}

/// Everything the Templates screen shows of one template.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TemplateView {
    /// The feature.
    pub feature: FeatureId,
    /// The piece.
    pub piece: PieceId,
    /// *Eye, left, on piece 7*.
    pub title: String,
    /// How to lay it: the first line of the sheet.
    pub laying: String,
    /// 95 % of cases lie within this.
    pub worst: Length,
    /// The radius asked for.
    pub allowed: Length,
    /// It fits.
    pub fits: bool,
    /// What the worst error is made of, largest first.
    pub terms: Vec<ErrorTerm>,
    /// The register crosses.
    pub crosses: Vec<CrossView>,
    /// *the drawing's own stencil laid on piece 7 would land 4.1 mm low; this one, within 1.2*.
    pub instead_of_nominal: String,
    /// What would bring a quick template inside what is allowed, where it is not.
    #[serde(default)]
    pub tighter: Option<String>,
    /// What it leaves between this feature and the other of its pair.
    pub pair: Option<crate::prepare::pair_checks::PairAhead>,
    /// What nothing checks, what was left out, what is held by the drawing.
    pub warnings: Vec<String>,
    /// The sheet's reference.
    pub reference: String,
    /// An older print of this template no longer matches, and why.
    pub stale: Option<String>,
    /// *2 sheets of A3*.
    pub paper: String,
    /// Printer and paper are proved for it.
    pub proved: bool,
    /// What that rests on, or what would do.
    pub proof: String,
    /// Size of the template inside its trim, across.
    pub across: Length,
    /// And up.
    pub up: Length,
    /// The pages as SVG, at true size: the same bytes that are exported.
    pub pages: Vec<String>,
    /// The template in one piece, where it takes several sheets.
    #[serde(default)]
    pub whole: Option<String>,
}

/// Points in the flat plane of a template, mm: `[across, up]`.
pub type FlatDots = Vec<[f64; 2]>;

/// The template while it is being typed: light enough to redraw at each keystroke.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LivePicture {
    /// The outline, closed runs of points in the flat plane, mm, y up.
    pub outline: Vec<FlatDots>,
    /// Crosses: letter and place.
    pub crosses: Vec<(String, [f64; 2])>,
    /// Where the drawing has the marks.
    pub as_drawn: Vec<(String, [f64; 2])>,
    /// Where each mark could be: letter, centre, and half axes with turn (mm, mm, rad), 95 %.
    pub could_be: Vec<(String, [f64; 2], [f64; 3])>,
    /// Darts: the middle of the hole at the tip, and where each edge leaves the sheet, mm; a slit
    /// has both edges in one.
    #[serde(default)]
    pub darts: Vec<[[f64; 2]; 3]>,
    /// 95 % of cases lie within this.
    pub worst: Length,
    /// The radius asked for.
    pub allowed: Length,
    /// Sentences to show.
    pub warnings: Vec<String>,
    /// What would bring it inside what is allowed, where it is not.
    #[serde(default)]
    pub tighter: Option<String>,
}

impl LivePicture {
    /// A place as a plain pair.
    #[must_use]
    pub const fn dot(p: Point2<Flat>) -> [f64; 2] {
        [p.x_mm(), p.y_mm()]
    }
}
