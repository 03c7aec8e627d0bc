//! Every sentence the user reads that core does not say itself.

pub mod artwork;
pub mod gauge;
pub mod holes;
pub mod job;
pub mod laid;
pub mod measure;
pub mod names;
pub mod numbers;
pub mod run;
pub mod seat;
pub mod storage;
