//! What the page asks.

use crate::check::Gaps;
use crate::job::{
    CastingId, FaceId, FactId, FeatureId, FixingId, IssueId, JobId, JointId, PartId, PieceId,
    PointRef, PrinterId, Reading, ReplicaId, SheetOf,
};
use crate::prepare::amendments::AmendmentPaper;
use crate::prepare::history::HistoryAsk;
use crate::prepare::holes::HoleTyped;
use crate::prepare::printer::ProofTyped;
use crate::prepare::solid::SolidOf;
use crate::sheet::{CardSet, Paper};
use crate::units::Length;
use serde::{Deserialize, Serialize};

/// A numbered question; late answers are told by their number.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Request {
    /// Counts up.
    pub number: u64,
    /// The question.
    pub ask: Ask,
}

/// A question.
#[derive(Debug, Clone, Serialize, Deserialize)]
// Named outside: a name inside would have every question read twice, through a copy of all it holds.
#[serde(rename_all = "kebab-case")]
pub enum Ask {
    /// Take in facts of a job: all of them the first time, later only what is new (taking one in twice is harmless).
    Facts {
        /// Which job.
        job: JobId,
        /// The facts, each the text it was written in. (Text, because raw JSON does not pass
        /// through a tagged question.) Many stand beside it: [`super::FactTexts`].
        facts: Vec<String>,
        /// Attachments by hash, base-64.
        #[serde(default)]
        attachments: Vec<(String, String)>,
    },
    /// Every piece and feature: what can be printed, how far off at worst, as drawn and as measured.
    Survey {
        /// Which job.
        job: JobId,
    },
    /// Every casting, mould and piece: stages, what may be done next and why not yet.
    Run {
        /// Which job.
        job: JobId,
    },
    /// One feature on one piece: everything the Templates screen shows, pages included.
    Template {
        /// Which job.
        job: JobId,
        /// What is to land.
        feature: FeatureId,
        /// On which piece.
        piece: PieceId,
        /// The paper.
        paper: Paper,
        /// Today, as printed.
        day: String,
    },
    /// The same without pages: for the picture that follows each keystroke.
    Live {
        /// Which job.
        job: JobId,
        /// What is to land.
        feature: FeatureId,
        /// On which piece.
        piece: PieceId,
    },
    /// What to measure on a casting, in which order, and how it stands.
    Walk {
        /// Which job.
        job: JobId,
        /// Which casting.
        casting: CastingId,
        /// What somebody wants to read besides the list.
        #[serde(default)]
        also: Vec<crate::job::Measured>,
    },
    /// What the readings of the whole run say together: a bent hook, a casting unlike its sisters.
    Pooled {
        /// Which job.
        job: JobId,
    },
    /// One face set out from the pattern: marks, features, readings, and how sure they are.
    Face {
        /// Which job.
        job: JobId,
        /// Which face.
        face: FaceId,
    },
    /// Readings of a spreadsheet, understood and not kept.
    ReadSheet {
        /// Which job.
        job: JobId,
        /// The cells, as copied or as in the file.
        text: String,
        /// The tape lay over the surface; else it was held straight.
        over: bool,
    },
    /// All readings as a file for a spreadsheet; its bytes come beside the answer.
    ReadingsFile {
        /// Which job.
        job: JobId,
        /// Today, for the file's name.
        day: String,
    },
    /// A point put down on the picture of a face: the distances that say the same.
    DrawnPlace {
        /// Which job.
        job: JobId,
        /// Which face.
        face: FaceId,
        /// What was put down.
        of: PointRef,
        /// Where in the picture, mm, y up.
        at_mm: [f64; 2],
    },
    /// Where a client's drawing has a point, as a view with one anchor: the distances that say the same.
    PlaceInView {
        /// Which job.
        job: JobId,
        /// Which face.
        face: FaceId,
        /// What is placed.
        of: PointRef,
        /// Where the drawing has it.
        view: crate::prepare::setout::ViewPlace,
    },
    /// A face in space, to be turned and looked at; its corners come beside the answer.
    Solid {
        /// Which job.
        job: JobId,
        /// The face, or a template in its place.
        of: SolidOf,
    },
    /// Every feature of a piece, as QA sees it.
    Checks {
        /// Which job.
        job: JobId,
        /// Which piece.
        piece: PieceId,
    },
    /// The checks of the whole run: who is not checked, what is outside, what it does.
    RunChecks {
        /// Which job.
        job: JobId,
    },
    /// How the record of a piece, or of the run, stands: its seal, who signed it off.
    Seal {
        /// Which job.
        job: JobId,
        /// Which piece; the run where none is named.
        piece: Option<PieceId>,
    },
    /// Four gaps of a lay-back, judged before they are kept.
    Judge {
        /// Which job.
        job: JobId,
        /// Which piece.
        piece: PieceId,
        /// Which feature.
        feature: FeatureId,
        /// What was read.
        gaps: Gaps,
    },
    /// Distances from marks to the painted middle of a feature, judged before they are kept.
    JudgeMarks {
        /// Which job.
        job: JobId,
        /// Which piece.
        piece: PieceId,
        /// Which feature.
        feature: FeatureId,
        /// What was read.
        readings: Vec<Reading>,
    },
    /// The record of a piece or of the run as a table; its bytes come beside the answer.
    RecordTable {
        /// Which job.
        job: JobId,
        /// The piece; all of them where none is named.
        piece: Option<PieceId>,
        /// Today, for the file's name.
        day: String,
    },
    /// The record of a piece or of the run as PDF; its bytes come beside the answer.
    Record {
        /// Which job.
        job: JobId,
        /// The piece; all of them where none is named.
        piece: Option<PieceId>,
        /// The paper.
        paper: Paper,
        /// Today, as printed.
        day: String,
    },
    /// What an issue means for the run.
    Amendment {
        /// Which job.
        job: JobId,
        /// Which issue.
        issue: IssueId,
    },
    /// The approval page or the change slip of an issue, as PDF; its bytes come beside the answer.
    AmendmentPaper {
        /// Which job.
        job: JobId,
        /// Which issue.
        issue: IssueId,
        /// Which of the two.
        which: AmendmentPaper,
        /// The paper.
        paper: Paper,
        /// Today, as printed.
        day: String,
    },
    /// How a piece's figure sits on its base, and which figure goes on which base.
    Seat {
        /// Which job.
        job: JobId,
        /// Which piece.
        piece: PieceId,
        /// Which of its joints; the first that is set out where none is named.
        joint: Option<JointId>,
    },
    /// Every fact in order, by whom, and what it changed.
    History {
        /// Which job.
        job: JobId,
        /// What of it.
        of: HistoryAsk,
    },
    /// What going back to just after an entry would take back.
    GoingBack {
        /// Which job.
        job: JobId,
        /// The entry.
        to: FactId,
        /// Who may take back their own.
        own: Vec<ReplicaId>,
        /// So many are told at most.
        most: usize,
    },
    /// Two states of the job beside each other: just after an entry each.
    Compared {
        /// Which job.
        job: JobId,
        /// The earlier one; before anything was said, where none is named.
        from: Option<FactId>,
        /// The later one; now, where none is named.
        to: Option<FactId>,
        /// So many differences at most.
        most: usize,
    },
    /// Every hole of a piece and how to find it.
    Holes {
        /// Which job.
        job: JobId,
        /// Which piece.
        piece: PieceId,
    },
    /// A drilled hole, judged before it is kept.
    JudgeHole {
        /// Which job.
        job: JobId,
        /// Which piece.
        piece: PieceId,
        /// The bracket, by its fixing.
        fixing: FixingId,
        /// The hole's number.
        hole: u32,
        /// What was read.
        typed: HoleTyped,
    },
    /// The drill sheet of a piece as PDF; its bytes come beside the answer.
    DrillSheet {
        /// Which job.
        job: JobId,
        /// Which piece.
        piece: PieceId,
        /// The paper.
        paper: Paper,
        /// Today, as printed.
        day: String,
    },
    /// The fewest templates or jigs that serve the run.
    Fewest {
        /// Which job.
        job: JobId,
        /// What they carry.
        of: SheetOf,
        /// How far out they may be, where it is not what the job asks for.
        within: Option<Length>,
    },
    /// Their sheets as one PDF, or as pages for a cutter; the bytes come beside the answer.
    FewestFile {
        /// Which job.
        job: JobId,
        /// What they carry.
        of: SheetOf,
        /// How far out they may be, where it is not what the job asks for.
        within: Option<Length>,
        /// What kind of file.
        kind: FileKind,
        /// The paper.
        paper: Paper,
        /// Today, as printed.
        day: String,
    },
    /// Every template on the rack, and what is printed for a feature of a piece that is not on it yet;
    /// where no feature is in hand, those by which the piece is drilled.
    Rack {
        /// Which job.
        job: JobId,
        /// The feature in hand.
        feature: Option<FeatureId>,
        /// The piece in hand.
        piece: PieceId,
    },
    /// The proof page of a paper: what it holds, what the readings come to, what that proves.
    Proof {
        /// Which job.
        job: JobId,
        /// Which printer, once it has a name.
        printer: Option<PrinterId>,
        /// The paper.
        paper: Paper,
        /// What is being typed; the proof that is kept, where nothing is.
        typed: Option<ProofTyped>,
    },
    /// The proof page as PDF; its bytes come beside the answer.
    ProofPage {
        /// Which job.
        job: JobId,
        /// The printer's name, as typed.
        printer: String,
        /// The paper.
        paper: Paper,
        /// Today, as printed.
        day: String,
    },
    /// A feature's outline in patches, for one piece.
    Patches {
        /// Which job.
        job: JobId,
        /// Which feature.
        feature: FeatureId,
        /// For which piece.
        piece: PieceId,
        /// As gores alike instead.
        #[serde(default)]
        as_gores: bool,
    },
    /// Rods of a feature, as PDF; its bytes come beside the answer.
    Rods {
        /// Which job.
        job: JobId,
        /// Which feature.
        feature: FeatureId,
        /// For which pieces; the run where none is named.
        pieces: Vec<PieceId>,
        /// The paper.
        paper: Paper,
        /// Today, as printed.
        day: String,
    },
    /// The locating stick of a piece with its shim gauge, as PDF; its bytes come beside the answer.
    LocatingStick {
        /// Which job.
        job: JobId,
        /// Which piece.
        piece: PieceId,
        /// Which of its joints; the first that is set out where none is named.
        joint: Option<JointId>,
        /// The paper.
        paper: Paper,
        /// Today, as printed.
        day: String,
    },
    /// Where pips would go on a face of the pattern before the mould is made.
    Pips {
        /// Which job.
        job: JobId,
        /// Which face.
        face: FaceId,
    },
    /// The true-size sheet to drill them by, as PDF; its bytes come beside the answer.
    PipSheet {
        /// Which job.
        job: JobId,
        /// Which face.
        face: FaceId,
        /// The paper.
        paper: Paper,
        /// Today, as printed.
        day: String,
    },
    /// The drawing of a face at full size with a grid, over as many sheets as it takes, as PDF; its
    /// bytes come beside the answer.
    GridSheet {
        /// Which job.
        job: JobId,
        /// Which face.
        face: FaceId,
        /// How far apart grid lines are.
        every: Length,
        /// The paper.
        paper: Paper,
        /// Today, as printed.
        day: String,
    },
    /// The pattern of a part on the gridded board: what was read, how set-ups are tied, where faces
    /// are.
    Board {
        /// Which job.
        job: JobId,
        /// Which part.
        part: PartId,
    },
    /// The sheets of a gridded board, as PDF; its bytes come beside the answer.
    BoardSheet {
        /// Which job.
        job: JobId,
        /// How far across, how far back.
        size: [Length; 2],
        /// How far apart grid lines are.
        every: Length,
        /// The paper.
        paper: Paper,
        /// Today, as printed.
        day: String,
    },
    /// Gauge cards to cut out, as PDF; its bytes come beside the answer. No job is needed for it.
    GaugeCards {
        /// Which cards.
        set: CardSet,
        /// The paper.
        paper: Paper,
    },
    /// A frame to trace and photograph a shape in, as PDF; its bytes come beside the answer. No job
    /// is needed for it.
    TracingFrame {
        /// The paper.
        paper: Paper,
    },
    /// A file to print, download or share; its bytes come beside the answer.
    File {
        /// Which job.
        job: JobId,
        /// What kind of file.
        kind: FileKind,
        /// What it is of; all there is where nothing is named.
        of: Option<SheetOf>,
        /// The pieces; all of them where none is named.
        pieces: Vec<PieceId>,
        /// The paper.
        paper: Paper,
        /// Today, as printed.
        day: String,
    },
    /// The sheets of some pieces of a run, for [`Ask::RunTogether`]; the bytes come beside the answer.
    RunPart {
        /// Which job.
        job: JobId,
        /// What kind of file the run is to be: a ZIP or one PDF.
        kind: FileKind,
        /// The pieces, in the order of the run.
        pieces: Vec<PieceId>,
        /// The paper.
        paper: Paper,
        /// Today, as printed.
        day: String,
    },
    /// What [`Ask::File`] makes of a whole run, from its parts; they stand beside the question, in the
    /// order of their pieces.
    RunTogether {
        /// Which job.
        job: JobId,
        /// What kind of file.
        kind: FileKind,
        /// The paper.
        paper: Paper,
        /// Today, as printed.
        day: String,
        /// From how many facts its parts were made.
        facts: usize,
    },
}

/// Which half of the core a question waits for: the browser loads what the start needs first.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Half {
    /// Loaded with the page.
    First,
    /// Loaded when first asked, or once nothing else is to be done.
    Rest,
}

impl Ask {
    /// Which half answers it.
    #[must_use]
    pub const fn waits_for(&self) -> Half {
        match self {
            Self::Facts { .. }
            | Self::Run { .. }
            | Self::Survey { .. }
            | Self::Template { .. }
            | Self::Live { .. } => Half::First,
            _ => Half::Rest,
        }
    }
}

/// Kinds of file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum FileKind {
    /// One PDF, a bookmark for each piece.
    Pdf,
    /// One page as SVG, or a ZIP of pages where there are several.
    Svg,
    /// One page as DXF for a cutter, or a ZIP of pages where there are several.
    Dxf,
    /// The same in the older release 12, whose unit stands in the name.
    DxfR12,
    /// The whole run: a folder for each piece, the job itself, an index.
    Zip,
}
