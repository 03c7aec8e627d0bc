//! The job: facts and what they add up to.
//!
//! Everything somebody said, chose or read is a [`Fact`]: never altered, only added to. The
//! [`Job`] is a fold over facts in their order; undo is another fact; merging two copies is the
//! union of their facts. Laws (tested as properties): merging is commutative, associative and
//! idempotent, and facts folded in any order of arrival give the same job.
//!
//! Reading and writing the file a job travels in is in `read::job` and `write::job`.

mod about;
mod amendments;
mod asked;
mod by_fact;
mod checked;
mod cured;
mod design;
mod edges;
mod face_shape;
mod fact;
mod filed;
mod fold;
mod folding;
mod hatch;
mod holds;
mod holes;
mod ids;
mod ledger;
mod log;
mod lookup;
mod marriages;
mod measured;
mod outline_spec;
mod pairs;
mod payload;
mod proofs;
mod quick;
mod rack;
mod rule_spec;
#[cfg(feature = "schema")]
mod schema;
mod seat;
mod seen_from;
mod settings;
mod sheet_of;
mod signed;
mod speaks_of;
mod things;
mod unsaid;

pub use amendments::{AmendedFact, Amendment, Change, Decided, InForce};
pub use asked::Asked;
pub use checked::{CheckFact, ConcessionFact, Found, LayBackRead, PairConcessionFact};
pub use cured::CuredReading;
pub use design::*;
pub use edges::{EdgeLies, EdgeMade};
pub use face_shape::*;
pub use fact::{Envelope, Fact, FactId, Heads, ReplicaId};
pub use filed::{About, Filed, Picked, Subject};
pub use fold::{Concurrent, Disagreement, Job, Kept, Problem, Trouble};
pub use folding::Folded;
pub use hatch::{CutOut, HatchStands};
pub use holds::*;
pub use holes::*;
pub use ids::*;
pub use ledger::{Ledger, MergeReport, OtherJob, Writer};
pub use log::{Iter, Log};
pub use marriages::ClaimedTwice;
pub use measured::*;
pub use outline_spec::OutlineSpec;
pub use pairs::{MadeFrom, Mirror};
pub use payload::{
    Correction, DoneFact, DoneKind, Edit, Marriage, MeasuringFact, MeasuringSays, MouldEvent,
    MouldFact, Payload, PayloadError, Printed, PrintedInputs, Reading, Removal, StageFact,
    Withdrawal,
};
pub use proofs::ProofFact;
pub use quick::{QuickCards, QuickError, QuickIds, QuickPiece, TapeLay};
pub use rack::{CheckDistance, DistanceRead, TemplateFact, TemplateKind, TemplateSays};
pub use rule_spec::*;
#[cfg(feature = "schema")]
pub use schema::job_schema;
pub use seat::*;
pub use seen_from::*;
pub use sheet_of::SheetOf;
pub use signed::SignOffFact;

/// The version of the file format this program writes; a newer one is refused with a sentence.
pub const FORMAT_VERSION: u32 = 1;
