//! What a job is made of: the design, the castings and the run.
//!
//! Each struct is both what a fact of that kind may set (only the fields it names) and what the
//! fold of all of them leaves: the last in order wins, field by field. Fields that a fact does
//! not name stay as they were; fields this version does not know are carried along in the fact.

use super::amendments::Amendment;
use super::edges::{EdgeLies, EdgeMade};
use super::face_shape::FaceShape;
use super::hatch::CutOut;
use super::holds::Hold;
use super::holes::{
    BiggerHole, HandReaches, HeldBy, HoleLayer, HolePattern, HolePurpose, HoleWidth, JigStop,
    KeepOut, SpacingLet,
};
use super::ids::*;
use super::measured::Measured;
use super::outline_spec::OutlineSpec;
use super::pairs::Mirror;
use super::rack::{CheckDistance, TemplateKind};
use super::rule_spec::{LayingChoice, RuleSpec, TurnKept};
use super::seat::{Bedding, SeatLayer, SeatSpot};
use super::seen_from::SeenFrom;
use crate::check::DecisionRule;
use crate::sheet::Paper;
use crate::units::{Angle, Length};
use serde::{Deserialize, Serialize};

/// A length somebody typed: the text as typed beside what was understood.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Entry {
    /// As typed.
    pub typed: String,
    /// As understood, mm.
    pub mm: Length,
    /// The unit it was understood in.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub unit: Option<String>,
    /// The reading of the text that was used.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rule: Option<String>,
}

impl Entry {
    /// An entry in plain millimetres.
    #[must_use]
    pub fn of_mm(mm: f64) -> Self {
        Self {
            typed: format!("{mm}"),
            mm: Length::from_mm(mm),
            unit: Some("mm".into()),
            rule: None,
        }
    }
}

macro_rules! entity {
    ($(#[$doc:meta])* $name:ident { $($(#[$fdoc:meta])* $field:ident : $ty:ty),* $(,)? }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
        #[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
        #[serde(rename_all = "kebab-case", default)]
        pub struct $name {
            $($(#[$fdoc])* #[serde(skip_serializing_if = "Option::is_none")] pub $field: Option<$ty>,)*
        }
    };
}

entity!(/// The job as a whole.
JobEdit {
    /// Its title.
    title: String,
    /// Who it is prepared for.
    prepared_for: String,
    /// The unit a bare number means.
    unit: String,
    /// Everything in it is made up, for trying the tool.
    invented: bool,
    /// How many pieces the run has.
    pieces: u32,
    /// The paper last used.
    paper: Paper,
    /// The printer last used.
    printer: PrinterId,
    /// The stages a casting goes through, in order.
    stages: Vec<String>,
    /// What must be done before a casting may come to a stage.
    holds: Vec<Hold>,
    /// How measuring uncertainty counts in verdicts.
    decision_rule: DecisionRule,
    /// What an hour's work costs in this shop.
    hour_rate: f64,
    /// In what money.
    money: String,
});

entity!(/// A numbered, dated release of the design.
IssueEdit {
    /// 1, 2, …
    number: u32,
    /// The day, as year-month-day.
    date: String,
    /// Why.
    reason: String,
    /// Who asked for it.
    asked_by: String,
    /// Who approved it.
    approved_by: String,
    /// The first piece it applies to.
    from_piece: u32,
    /// The last piece it applies to.
    to_piece: u32,
    /// What it changes; none for a whole design.
    amends: Vec<Amendment>,
    /// The day it was approved.
    approved_on: String,
    /// Hours to make one feature of one finished piece again.
    hours_each: f64,
});

entity!(/// A mould, in sections.
MouldEdit {
    /// Its name.
    name: String,
    /// Its sections.
    sections: Vec<Section>,
    /// How much smaller castings are than the pattern, in parts per thousand, until castings show another.
    shrinkage_per_mille: f64,
});

/// One section of a mould: its marks are one rigid body.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Section {
    /// Its id.
    pub id: SectionId,
    /// Its name: *left half*.
    pub name: String,
}

entity!(/// The design of one casting.
PartEdit {
    /// Its name.
    name: String,
    /// The mould it comes from.
    mould: MouldId,
});

entity!(/// A region of a part that one template can lie on.
FaceEdit {
    /// The part it belongs to.
    part: PartId,
    /// Its name.
    name: String,
    /// What kind it is, and its size on the pattern.
    shape: FaceShape,
    /// From which side it is seen: *from the front*, *from the figure's left*.
    seen_from: String,
});

/// On which side of the line from a face's first mark to its second, seen from outside with
/// that line running to the right.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum LineSide {
    /// Above the line.
    Above,
    /// Below the line.
    Below,
}

entity!(/// A point that can be found again on every casting.
MarkEdit {
    /// The face it is on.
    face: FaceId,
    /// Its letter, as printed beside the cross.
    letter: String,
    /// How it is found: *moulded-in pip under the brow*.
    found: String,
    /// The mould section it was cast in.
    section: SectionId,
    /// On which side of the line of the first two marks it lies, where readings alone can't tell.
    side: LineSide,
    /// Painted over or hidden in the finished piece.
    hidden: bool,
    /// The stage from which it can be found.
    from_stage: String,
    /// The last stage at which it can be found.
    to_stage: String,
    /// The mark this cross stands in for once that one is gone: scribed where it lasts, and tied
    /// by at least two readings while the old mark can still be found.
    carries: MarkId,
});

entity!(/// A straight edge used as a datum.
EdgeEdit {
    /// The face it bounds.
    face: FaceId,
    /// Its letter.
    letter: String,
    /// On which side of its face it lies, seen from outside.
    lies: EdgeLies,
    /// Moulded or trimmed.
    made: EdgeMade,
    /// Why a trimmed edge may serve.
    reason: String,
});

/// The figure's own left or right.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Hand {
    /// The figure's own left.
    Left,
    /// The figure's own right.
    Right,
}

/// What marks the outline, by what it does to paint.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Marker {
    /// A soft pencil, its line about 0.5 mm from the edge it follows.
    SoftPencil,
    /// Chalk or charcoal through pricked holes.
    Pounce,
    /// A fine pen, on tape only.
    FinePen,
    /// A knife, on a mask only.
    Knife,
}

/// On which side of the opening's edge the marker runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum DrawnSide {
    /// Inside the opening: the opening is cut larger than the outline.
    Inside,
    /// Outside a patch: the patch is cut smaller than the outline.
    Outside,
}

/// How what lies loose inside an opening (the middle of an O) keeps its place once it is cut.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Islands {
    /// Bridges of the sheet itself hold it; what they cover is touched in by hand.
    Bridged,
    /// It stays on the film with which the cut sheet is laid.
    Film,
}

/// How a feature runs over its face.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Runs {
    /// Straight over the surface: the shortest way.
    #[default]
    Straight,
    /// Along the level line through its middle.
    Level,
    /// Along the line between two marks ([`FeatureEdit::along`]), at its middle's distance from it.
    Along,
}

/// Two marks that a line runs between.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct BetweenMarks {
    /// From this one.
    pub from: MarkId,
    /// To this one.
    pub to: MarkId,
}

entity!(/// Something that has to land in the right place.
FeatureEdit {
    /// The face it is on.
    face: FaceId,
    /// Its name.
    name: String,
    /// Left or right of a pair.
    hand: Hand,
    /// Its outline.
    outline: OutlineSpec,
    /// The outline is turned over, left for right. Lettering still reads forwards.
    mirrored: bool,
    /// On which side of the line of the first two marks its centre lies, where readings alone can't tell.
    side: LineSide,
    /// Turn of its up from square to the line of its rule (anticlockwise seen from outside).
    turn: Angle,
    /// What its turn is kept to on a casting, if not to the line of its rule.
    turn_kept: TurnKept,
    /// How it follows the datums.
    rule: RuleSpec,
    /// How far out may it be, any way?
    tolerance: Length,
    /// What marks it.
    marker: Marker,
    /// Which side of the opening the marker runs.
    drawn: DrawnSide,
    /// What the marker adds, mm, if not its usual.
    allowance: Length,
    /// How what lies loose inside an opening is held, if not as is usual for its marker.
    islands: Islands,
    /// How wide a bridge to an island is, mm, if not in proportion to the outline.
    bridge: Length,
    /// How thick the sheet is that is laid, if not copier paper.
    thickness: Length,
    /// How thick the skin is that a shell of it is cut from.
    skin: Length,
    /// How it runs over the face, if not straight.
    runs: Runs,
    /// The marks between which the line runs that it goes along, where it does.
    along: BetweenMarks,
    /// How its outline is drawn, if not as it lies on the surface.
    seen: SeenFrom,
    /// Colour reference, gloss, coat.
    finish: String,
    /// How the template is laid, if pinned.
    laying: LayingChoice,
    /// The mould section it registers on.
    section: SectionId,
    /// Whether it is cut out of the skin, and its plug kept.
    cut_out: CutOut,
});

entity!(/// Two features across the centre line.
PairEdit {
    /// What they are called together.
    name: String,
    /// The figure's left one.
    left: FeatureId,
    /// The figure's right one.
    right: FeatureId,
    /// How far from level they may be.
    level: Length,
    /// How far off their distance apart may be.
    apart: Length,
    /// How unequal either side may be.
    equal: Length,
    /// Across what one is the mirror image of the other.
    mirror: Mirror,
    /// Which of them is made from the other by mirroring.
    made: Hand,
    /// How far apart they are to be, where the pattern does not say: middle to middle.
    distance: Entry,
});

entity!(/// The readings asked for on each casting.
MeasuringListEdit {
    /// The part it is for.
    part: PartId,
    /// What is asked.
    asks: Vec<Measured>,
});

entity!(/// Two castings that meet.
JointEdit {
    /// Its name.
    name: String,
    /// The lower part.
    base: PartId,
    /// The part on it.
    figure: PartId,
    /// The fixed locating dimension.
    locating_dimension: Entry,
    /// How far the locating dimension may be out.
    within: Length,
    /// How the figure is bedded.
    bedded: Bedding,
    /// The hard points under the figure: three.
    pads: Vec<SeatSpot>,
    /// Where the locating dimension is read: three, far apart.
    stations: Vec<SeatSpot>,
    /// The thinnest bed that is no dry spot.
    bed_least: Length,
    /// The thickest bed.
    bed_greatest: Length,
    /// Paint, film and felt in the joint.
    layers: Vec<SeatLayer>,
    /// How far the edge of the joint is from its middle.
    edge: Length,
});

entity!(/// A bracket and its bolts.
FixingEdit {
    /// Its name.
    name: String,
    /// The joint it holds.
    joint: JointId,
    /// Thread, as M8.
    thread: String,
    /// The face it is drilled from.
    face: FaceId,
    /// How it follows the datums.
    rule: RuleSpec,
    /// The mark its middle is dimensioned from.
    from: MarkId,
    /// Its middle to the right of that mark, along its rule.
    right: Entry,
    /// Its middle above that mark, square to its rule.
    up: Entry,
    /// Turn of its across from the line of its rule (anticlockwise seen from outside).
    turn: Angle,
    /// What its turn is kept to on a casting, if not to the line of its rule.
    turn_kept: TurnKept,
    /// Where its holes lie about its middle.
    pattern: HolePattern,
    /// What the holes are for.
    purpose: HolePurpose,
    /// How wide they are.
    width: HoleWidth,
    /// Can a hand reach the far side after closing?
    hand_reaches: HandReaches,
    /// What is drilled through, from outside in.
    layers: Vec<HoleLayer>,
    /// From the hole nearest to an edge to that edge.
    to_edge: Entry,
    /// Which of a pair, the figure's own.
    hand: Hand,
    /// How thick the bracket's plate is.
    plate: Entry,
    /// What holds the bolt on the far side.
    held_by: HeldBy,
    /// How much room the drill has, from the face outwards.
    room: Entry,
    /// Where no hole may come.
    keep_outs: Vec<KeepOut>,
    /// A short edge distance or pitch is let stand.
    spacing_let: SpacingLet,
    /// Whether a hole that came out bigger gives its place more room.
    bigger_hole: BiggerHole,
    /// How wide a hole may become at most.
    widest: Entry,
    /// How far out a hole may be, any way, where it is less than the bolts give.
    tolerance: Length,
    /// How far the face looks up from level at the middle of the holes, read with a bevel against
    /// plumb; below nothing where it looks down.
    looks_up: Angle,
    /// Through which hatch a hand comes to the far side until it is closed.
    hatch: FeatureId,
    /// From the middle of that hatch along the inside to the farthest hole, where they are not on
    /// one face.
    to_hatch: Entry,
    /// How far the one who bolts reaches in, if not as far as is usual.
    arm: Entry,
    /// Edges that its jig and setting plate touch: two stops on one, the third on the next.
    stops: Vec<JigStop>,
});

/// What an instrument is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum InstrumentKind {
    /// A pocket tape with a hook.
    PocketTape,
    /// A soft tape laid on the surface.
    SoftTape,
    /// A steel rule.
    SteelRule,
    /// A trammel: two points on a beam, set to the marks and read against a rule.
    Trammel,
    /// Outside calipers, set to the work and read against a rule.
    OutsideCalipers,
    /// Given by the drawing: no tape was held.
    Drawing,
    /// A strip of card or batten: the marks are ticked on it, and it is read against a rule.
    TickStrip,
    /// A square held to an edge, with a rule along it.
    Square,
    /// A straight-edge, and a taper gauge pushed under it.
    TaperGauge,
    /// A rule that stands on its foot, with an arm that slides.
    HeightStick,
    /// A spirit level, with a rule under its low end.
    Level,
    /// A hose with water in it.
    WaterLevel,
    /// A laser that throws a level and an upright line.
    CrossLineLaser,
    /// A plumb line, with a rule from it.
    Plumb,
    /// A rod of which one end goes and the other doesn't.
    Rod,
    /// A scanner.
    Scanner,
}

/// The class in the small oval on a tape's blade (OIML R 35).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub enum ClassMark {
    /// I.
    I,
    /// II.
    II,
    /// III, or nothing printed.
    III,
}

entity!(/// Something to measure with.
InstrumentEdit {
    /// Its name, as written on it.
    name: String,
    /// What it is.
    kind: InstrumentKind,
    /// The class on its blade.
    class: ClassMark,
    /// The least it is read to.
    resolution: Length,
    /// How far repeats scatter (one standard deviation).
    repeatability: Length,
    /// One length read ten times, the tape taken away in between: how far repeats scatter.
    repeats: Vec<Length>,
});

entity!(/// A printer with its proof.
PrinterEdit {
    /// Its name.
    name: String,
    /// Where the page is opened from: what the codes it prints lead to.
    address: String,
    /// Drawings are made larger or smaller by what its proof asks for.
    corrected: bool,
});

entity!(/// A template as a thing that hangs somewhere.
TemplateEdit {
    /// Its number.
    number: u32,
    /// What it is.
    kind: TemplateKind,
    /// What it carries.
    feature: FeatureId,
    /// Whose holes are drilled by it or whose bracket it holds, where it was not made from a print.
    fixing: FixingId,
    /// The pieces it serves, where it was not made from a print.
    pieces: Vec<PieceId>,
    /// The issue it was made to, where it was not made from a print.
    issue: IssueId,
    /// Long distances that prove it, where it was not made from a print.
    distances: Vec<CheckDistance>,
    /// The reference on the sheet it was made from.
    reference: String,
    /// The day it was made.
    made: String,
    /// Where it hangs.
    hangs: String,
    /// Measured again after serving this many pieces.
    check_every: u32,
});

entity!(/// One pull of a part.
CastingEdit {
    /// What was pulled.
    part: PartId,
    /// From which mould.
    mould: MouldId,
    /// The number on its hidden face.
    number: String,
    /// Which pull of the mould it is.
    pull: u32,
    /// It is the approved pattern (or the first good piece standing in for it).
    pattern: bool,
    /// The day it was demoulded.
    demoulded: String,
    /// The day it was laid up.
    laid_up: String,
    /// Where its number is written: the hidden face, in words.
    numbered_on: String,
    /// The sections of its mould it was laid up in; all of them where none is named.
    sections: Vec<SectionId>,
});

entity!(/// One article of the run.
PieceEdit {
    /// 1, 2, …
    number: u32,
    /// The batch it belongs to.
    batch: u32,
});
