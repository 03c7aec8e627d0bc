//! How a template is laid, what it leaves, and whether that fits.
//!
//! A template is laid on the *physical* marks. With x̂ the readings and x the truth, the feature
//! lands at target + (J_lay − J_rule)(m − m̂): where the laying follows the rule this is nothing,
//! however badly the marks were measured (design/11, *Laying a template, and what it leaves*).

mod allowance;
mod budget;
mod fewest;
mod laid;
mod laying;
pub mod pips;

pub use allowance::{Allowance, MarkerKind, allowance_of};
pub use budget::{
    Budget, COVER_95, Cover, DrawnBy, Given, Shares, Term, TermKind, Together, budget,
    moves_together,
};
pub use fewest::{
    CROSS_OFF, EXACT, Fewest, Group, LaidPart, SetGroup, Sharer, apart, best_place, fewest,
    fewest_sets, middle,
};
pub use laid::{LAID, Laid};
pub use laying::{
    Landing, LaySlopes, Laying, LayingError, by_pose, candidates, land, lay_slopes, seen_after,
};
