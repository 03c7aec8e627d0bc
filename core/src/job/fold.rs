//! What all facts add up to: the job as everybody reads it. How it is folded is in `folding`.

use super::amendments::AmendedFact;
use super::asked::Asked;
use super::checked::{CheckFact, ConcessionFact, PairConcessionFact};
use super::cured::CuredReading;
use super::design::*;
use super::fact::{Envelope, FactId};
use super::filed::Filed;
use super::folding::undone_by;
use super::holes::{DrilledFact, HolePattern};
use super::ids::*;
use super::ledger::Ledger;
use super::log::Log;
use super::marriages::ClaimedTwice;
use super::payload::*;
use super::proofs::ProofFact;
use super::rack::TemplateFact;
use super::seat::SeatReading;
use super::signed::SignOffFact;
use crate::surface::{ScanFace, scan::PatchError};
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};

/// A fact that counts, with its name.
#[derive(Debug, Clone, PartialEq)]
pub struct Kept<T> {
    /// Which fact.
    pub id: FactId,
    /// Its place in the one order all copies agree on, before its name.
    pub lamport: u64,
    /// Who said it.
    pub who: String,
    /// When, in the words of the device.
    pub wall: String,
    /// What it says.
    pub says: T,
}

impl<T> Kept<T> {
    /// Its place in the one order all copies agree on.
    pub(super) const fn order(&self) -> (u64, FactId) {
        (self.lamport, self.id)
    }

    /// Whether this was said after something else, in the order all copies agree on.
    #[must_use]
    pub fn after<U>(&self, other: &Kept<U>) -> bool {
        (self.lamport, self.id) > (other.lamport, other.id)
    }
}

/// Two people set the same field without knowing of each other; one counts, this one stays visible.
#[derive(Debug, Clone, PartialEq)]
pub struct Concurrent {
    /// The thing.
    pub on: EntityRef,
    /// The field.
    pub field: String,
    /// The fact that counts.
    pub counts: FactId,
    /// The fact that does not.
    pub other: FactId,
    /// What it said.
    pub value: Value,
}

/// A reading was corrected twice by people who did not know of each other.
#[derive(Debug, Clone, PartialEq)]
pub struct Disagreement {
    /// The reading.
    pub reading: FactId,
    /// The corrections, each with its fact.
    pub values: Vec<(FactId, Entry)>,
}

/// Why a fact does not count as it stands.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Trouble {
    /// The payload was not understood.
    #[error(transparent)]
    NotUnderstood(PayloadError),
    /// Something it speaks of has been removed.
    #[error("it speaks of something that was removed ({0:?}); bring that back to use it")]
    Removed(EntityRef),
    /// Something it speaks of has never been set up.
    #[error("it speaks of something this job doesn't have ({0:?})")]
    Missing(EntityRef),
    /// A hole that its fixing does not have.
    #[error(
        "it speaks of hole {hole} of the fixing {fixing}, whose pattern doesn't have it ({holes} in all)"
    )]
    NoHole {
        /// The fixing.
        fixing: FixingId,
        /// The hole's number.
        hole: u32,
        /// How many it has.
        holes: u32,
    },
    /// It takes back or corrects a fact that is not here.
    #[error("it changes an earlier entry that isn't in this copy")]
    NoTarget,
    /// The same name stands over different texts on two copies.
    #[error("two different entries carry this name: neither counts until one is written again")]
    TwoTexts,
}

/// A fact that does not count, and why.
#[derive(Debug, Clone, PartialEq)]
pub struct Problem {
    /// Which fact.
    pub fact: FactId,
    /// Why.
    pub trouble: Trouble,
}

/// The state of a job: a fold over its facts.
#[derive(Debug, Clone, PartialEq)]
pub struct Job {
    /// Which job.
    pub id: JobId,
    /// Title and settings.
    pub about: JobEdit,
    /// Issues.
    pub issues: BTreeMap<IssueId, IssueEdit>,
    /// Moulds.
    pub moulds: BTreeMap<MouldId, MouldEdit>,
    /// Parts.
    pub parts: BTreeMap<PartId, PartEdit>,
    /// Faces.
    pub faces: BTreeMap<FaceId, FaceEdit>,
    /// Datum marks.
    pub marks: BTreeMap<MarkId, MarkEdit>,
    /// Datum edges.
    pub edges: BTreeMap<EdgeId, EdgeEdit>,
    /// Features.
    pub features: BTreeMap<FeatureId, FeatureEdit>,
    /// Pairs.
    pub pairs: BTreeMap<PairId, PairEdit>,
    /// Measuring lists.
    pub lists: BTreeMap<ListId, MeasuringListEdit>,
    /// Joints.
    pub joints: BTreeMap<JointId, JointEdit>,
    /// Fixings.
    pub fixings: BTreeMap<FixingId, FixingEdit>,
    /// Instruments.
    pub instruments: BTreeMap<InstrumentId, InstrumentEdit>,
    /// Printers.
    pub printers: BTreeMap<PrinterId, PrinterEdit>,
    /// Templates as things.
    pub templates: BTreeMap<TemplateId, TemplateEdit>,
    /// Castings.
    pub castings: BTreeMap<CastingId, CastingEdit>,
    /// Pieces.
    pub pieces: BTreeMap<PieceId, PieceEdit>,
    /// Readings that count, corrections applied, in order.
    pub readings: Filed<Reading>,
    /// Stages reached, in order.
    pub stages: Filed<StageFact>,
    /// The marriage that counts for each piece: a casting is in one of them at most.
    pub marriages: BTreeMap<PieceId, Marriage>,
    /// Every marriage said, in order; earlier ones stay to be read.
    pub married: Log<Kept<Marriage>>,
    /// Castings that the latest marriages of several pieces claim.
    pub claimed_twice: Vec<ClaimedTwice>,
    /// Things done, in order.
    pub done: Filed<DoneFact>,
    /// What happened to moulds, in order.
    pub mould_events: Filed<MouldFact>,
    /// Checks, in order.
    pub checks: Filed<CheckFact>,
    /// Features let stand, in order.
    pub concessions: Filed<ConcessionFact>,
    /// Pairs let stand, in order.
    pub pair_concessions: Filed<PairConcessionFact>,
    /// Records signed off, in order.
    pub signed: Log<Kept<SignOffFact>>,
    /// Sheets printed, in order.
    pub printed: Filed<Printed>,
    /// Patches of scanned faces by attachment, no facts.
    pub scans: BTreeMap<String, Result<ScanFace, PatchError>>,
    /// Proof pages measured, in order.
    pub proofs: Log<Kept<ProofFact>>,
    /// What was said while measuring, in order.
    pub measuring: Filed<MeasuringFact>,
    /// What was decided of pieces made to an older issue, in order.
    pub amended: Filed<AmendedFact>,
    /// Readings at joints, in order.
    pub seat_readings: Filed<SeatReading>,
    /// Holes drilled, in order.
    pub drilled: Filed<DrilledFact>,
    /// Holes of brackets read after cure, in order.
    pub cured: Filed<CuredReading>,
    /// What happened to templates, in order.
    pub template_events: Filed<TemplateFact>,
    /// Settings that lost to a concurrent one.
    pub concurrent: Vec<Concurrent>,
    /// Readings corrected to two different values.
    pub disagreements: Vec<Disagreement>,
    /// Things removed.
    pub removed: BTreeSet<EntityRef>,
    /// Facts that do not count.
    pub problems: Vec<Problem>,
    /// What the question that is being answered has worked out already, no facts.
    pub asked: Asked,
}

/// Names of facts that a withdrawal which itself counts has taken back.
pub(super) fn withdrawn(ledger: &Ledger) -> BTreeSet<FactId> {
    taken_back(ledger).into_keys().collect()
}

/// What counts as taken back, and by which withdrawals that count themselves.
pub(super) fn taken_back(ledger: &Ledger) -> BTreeMap<FactId, Vec<FactId>> {
    let mut undo: Vec<(&Envelope, Withdrawal)> = ledger
        .facts()
        .filter_map(|f| Some((&f.envelope, undone_by(f)?)))
        .collect();
    undo.sort_by_key(|(e, _)| e.order());
    let mut gone: BTreeMap<FactId, Vec<FactId>> = BTreeMap::new();
    // From last to first: whether a withdrawal counts is settled by later ones only.
    for (envelope, w) in undo.iter().rev() {
        if !gone.contains_key(&envelope.id) {
            gone.entry(w.target).or_default().push(envelope.id);
        }
    }
    gone
}

impl Job {
    pub(super) fn empty(id: JobId) -> Self {
        Self {
            id,
            about: JobEdit::default(),
            issues: BTreeMap::new(),
            moulds: BTreeMap::new(),
            parts: BTreeMap::new(),
            faces: BTreeMap::new(),
            marks: BTreeMap::new(),
            edges: BTreeMap::new(),
            features: BTreeMap::new(),
            pairs: BTreeMap::new(),
            lists: BTreeMap::new(),
            joints: BTreeMap::new(),
            fixings: BTreeMap::new(),
            instruments: BTreeMap::new(),
            printers: BTreeMap::new(),
            templates: BTreeMap::new(),
            castings: BTreeMap::new(),
            pieces: BTreeMap::new(),
            readings: Filed::new(),
            stages: Filed::new(),
            marriages: BTreeMap::new(),
            married: Log::new(),
            claimed_twice: Vec::new(),
            done: Filed::new(),
            mould_events: Filed::new(),
            checks: Filed::new(),
            concessions: Filed::new(),
            pair_concessions: Filed::new(),
            signed: Log::new(),
            printed: Filed::new(),
            scans: BTreeMap::new(),
            proofs: Log::new(),
            measuring: Filed::new(),
            amended: Filed::new(),
            seat_readings: Filed::new(),
            drilled: Filed::new(),
            cured: Filed::new(),
            template_events: Filed::new(),
            concurrent: Vec::new(),
            disagreements: Vec::new(),
            removed: BTreeSet::new(),
            problems: Vec::new(),
            asked: Asked::default(),
        }
    }

    /// Folds facts in their one order.
    #[must_use]
    pub fn fold(ledger: &Ledger) -> Self {
        super::folding::Folded::of(ledger).into_job()
    }

    /// How many holes the pattern of a fixing has.
    pub(crate) fn holes_of(&self, fixing: &FixingId) -> u32 {
        let pattern = self.fixings.get(fixing).and_then(|f| f.pattern.as_ref());
        pattern.map_or(0, HolePattern::count)
    }

    /// The casting of a piece that belongs to a part, by the marriage that counts.
    #[must_use]
    pub fn casting_of(&self, piece: &PieceId, part: &PartId) -> Option<&CastingId> {
        self.marriages.get(piece)?.castings.iter().find(|id| {
            self.castings
                .get(id)
                .is_some_and(|c| c.part.as_ref() == Some(part))
        })
    }

    /// The pattern casting of a part.
    #[must_use]
    pub fn pattern_of(&self, part: &PartId) -> Option<&CastingId> {
        self.castings
            .iter()
            .find(|(_, c)| c.part.as_ref() == Some(part) && c.pattern == Some(true))
            .map(|(id, _)| id)
    }

    /// Where a casting is now.
    #[must_use]
    pub fn stage_of(&self, casting: &CastingId) -> Option<&str> {
        let last = self.stages.about(casting).next_back();
        last.map(|s| s.says.stage.as_str())
    }

    /// Pieces in the order of their numbers.
    #[must_use]
    pub fn pieces_in_order(&self) -> Vec<(&PieceId, &PieceEdit)> {
        let mut pieces: Vec<_> = self.pieces.iter().collect();
        pieces.sort_by_key(|(id, p)| (p.number.unwrap_or(u32::MAX), (*id).clone()));
        pieces
    }
}
