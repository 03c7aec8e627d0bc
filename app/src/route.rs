//! Addresses: every screen has its own, so that a code on a sheet opens it.

use samespot_core::job::{CastingId, FaceId, FeatureId, IssueId, JobId, PieceId};

/// Where the app is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Route {
    /// `#/`
    Start,
    /// `#/quick`: a quick template that nothing has been said about yet.
    NewQuick,
    /// `#/j/JOB/quick`
    Quick {
        /// The job.
        job: JobId,
    },
    /// `#/j/JOB/p/PIECE/templates/FEATURE`, the last two parts as far as they are chosen.
    Templates {
        /// The job.
        job: JobId,
        /// The piece, if one is chosen.
        piece: Option<PieceId>,
        /// The feature, if one is chosen.
        feature: Option<FeatureId>,
    },
    /// `#/j/JOB/c/CASTING/measure`; `#/j/JOB/p/PIECE/measure` and `#/j/JOB/measure` lead to one.
    Measure {
        /// The job.
        job: JobId,
        /// The piece it belongs to, if it is known.
        piece: Option<PieceId>,
        /// The casting, if one is chosen.
        casting: Option<CastingId>,
    },
    /// `#/j/JOB/job`, or `#/j/JOB/p/PIECE/job` with a piece in hand.
    Job {
        /// The job.
        job: JobId,
        /// The piece, if one is chosen.
        piece: Option<PieceId>,
    },
    /// `#/j/JOB/p/PIECE/checks/FEATURE`, the last two parts as far as they are chosen.
    Checks {
        /// The job.
        job: JobId,
        /// The piece, if one is chosen.
        piece: Option<PieceId>,
        /// The feature, if one is chosen.
        feature: Option<FeatureId>,
    },
    /// `#/j/JOB/changes/ISSUE`, the last part if an issue is open.
    Changes {
        /// The job.
        job: JobId,
        /// The issue, if one is open.
        issue: Option<IssueId>,
    },
    /// `#/j/JOB/printer`
    Printer {
        /// The job.
        job: JobId,
    },
    /// `#/j/JOB/history`
    History {
        /// The job.
        job: JobId,
    },
    /// `#/j/JOB/p/PIECE/seat`, or `#/j/JOB/seat` for the first piece.
    Seat {
        /// The job.
        job: JobId,
        /// The piece, if one is chosen.
        piece: Option<PieceId>,
    },
    /// `#/j/JOB/setout/FACE`, the last part if a face is chosen.
    SetOut {
        /// The job.
        job: JobId,
        /// The face, if one is chosen.
        face: Option<FaceId>,
    },
    /// `#/j/JOB/p/PIECE/holes`, or `#/j/JOB/holes` for the first piece.
    Holes {
        /// The job.
        job: JobId,
        /// The piece, if one is chosen.
        piece: Option<PieceId>,
    },
    /// An address that is none of these.
    Unknown(String),
}

/// This module has the screen of an address, or another would not have it either.
#[must_use]
pub const fn here(route: &Route) -> bool {
    cfg!(feature = "whole") || route.begins()
}

impl Route {
    /// The small module answers it: what somebody new needs up to a first sheet.
    #[must_use]
    pub const fn begins(&self) -> bool {
        matches!(
            self,
            Self::Start | Self::NewQuick | Self::Quick { .. } | Self::Unknown(_)
        )
    }

    /// Reads the part of an address after `#`.
    #[must_use]
    pub fn read(hash: &str) -> Self {
        let path = hash.trim_start_matches('#');
        let parts: Vec<&str> = path.split('/').filter(|p| !p.is_empty()).collect();
        Self::from_parts(&parts).unwrap_or_else(|| Self::Unknown(path.chars().take(80).collect()))
    }

    fn from_parts(parts: &[&str]) -> Option<Self> {
        let feature = |text: &str| FeatureId::new(text).ok();
        Some(match parts {
            [] => Self::Start,
            ["quick"] => Self::NewQuick,
            ["j", job] => Self::Templates {
                job: JobId::new(job).ok()?,
                piece: None,
                feature: None,
            },
            ["j", job, "job"] => Self::Job {
                job: JobId::new(job).ok()?,
                piece: None,
            },
            ["j", job, "p", piece, "job"] => Self::Job {
                job: JobId::new(job).ok()?,
                piece: Some(PieceId::new(piece).ok()?),
            },
            ["j", job, "checks"] => Self::Checks {
                job: JobId::new(job).ok()?,
                piece: None,
                feature: None,
            },
            ["j", job, "p", piece, "checks"] => Self::Checks {
                job: JobId::new(job).ok()?,
                piece: Some(PieceId::new(piece).ok()?),
                feature: None,
            },
            ["j", job, "p", piece, "checks", name] => Self::Checks {
                job: JobId::new(job).ok()?,
                piece: Some(PieceId::new(piece).ok()?),
                feature: Some(feature(name)?),
            },
            ["j", job, "changes"] => Self::Changes {
                job: JobId::new(job).ok()?,
                issue: None,
            },
            ["j", job, "changes", issue] => Self::Changes {
                job: JobId::new(job).ok()?,
                issue: Some(IssueId::new(issue).ok()?),
            },
            ["j", job, "printer"] => Self::Printer {
                job: JobId::new(job).ok()?,
            },
            ["j", job, "history"] => Self::History {
                job: JobId::new(job).ok()?,
            },
            ["j", job, "seat"] => Self::Seat {
                job: JobId::new(job).ok()?,
                piece: None,
            },
            ["j", job, "p", piece, "seat"] => Self::Seat {
                job: JobId::new(job).ok()?,
                piece: Some(PieceId::new(piece).ok()?),
            },
            ["j", job, "setout"] => Self::SetOut {
                job: JobId::new(job).ok()?,
                face: None,
            },
            ["j", job, "setout", face] => Self::SetOut {
                job: JobId::new(job).ok()?,
                face: Some(FaceId::new(face).ok()?),
            },
            ["j", job, "holes"] => Self::Holes {
                job: JobId::new(job).ok()?,
                piece: None,
            },
            ["j", job, "p", piece, "holes"] => Self::Holes {
                job: JobId::new(job).ok()?,
                piece: Some(PieceId::new(piece).ok()?),
            },
            ["j", job, "quick"] => Self::Quick {
                job: JobId::new(job).ok()?,
            },
            ["j", job, "measure"] => Self::Measure {
                job: JobId::new(job).ok()?,
                piece: None,
                casting: None,
            },
            ["j", job, "p", piece, "measure"] => Self::Measure {
                job: JobId::new(job).ok()?,
                piece: Some(PieceId::new(piece).ok()?),
                casting: None,
            },
            ["j", job, "c", casting] | ["j", job, "c", casting, "measure"] => Self::Measure {
                job: JobId::new(job).ok()?,
                piece: None,
                casting: Some(CastingId::new(casting).ok()?),
            },
            ["j", job, "p", piece] | ["j", job, "p", piece, "templates"] => Self::Templates {
                job: JobId::new(job).ok()?,
                piece: Some(PieceId::new(piece).ok()?),
                feature: None,
            },
            // A code on a sheet names the feature straight after the piece.
            ["j", job, "p", piece, "templates", what] | ["j", job, "p", piece, what] => {
                Self::Templates {
                    job: JobId::new(job).ok()?,
                    piece: Some(PieceId::new(piece).ok()?),
                    feature: Some(feature(what)?),
                }
            }
            _ => return None,
        })
    }

    /// The address, with its `#`.
    #[must_use]
    pub fn address(&self) -> String {
        match self {
            Self::Start | Self::Unknown(_) => "#/".into(),
            Self::NewQuick => "#/quick".into(),
            Self::Quick { job } => format!("#/j/{job}/quick"),
            Self::Measure {
                job,
                casting: Some(casting),
                ..
            } => format!("#/j/{job}/c/{casting}/measure"),
            Self::Measure {
                job,
                piece: Some(piece),
                casting: None,
            } => format!("#/j/{job}/p/{piece}/measure"),
            Self::Measure {
                job,
                piece: None,
                casting: None,
            } => format!("#/j/{job}/measure"),
            Self::Holes { job, piece: None } => format!("#/j/{job}/holes"),
            Self::Holes {
                job,
                piece: Some(piece),
            } => format!("#/j/{job}/p/{piece}/holes"),
            Self::Printer { job } => format!("#/j/{job}/printer"),
            Self::History { job } => format!("#/j/{job}/history"),
            Self::Seat { job, piece: None } => format!("#/j/{job}/seat"),
            Self::Seat {
                job,
                piece: Some(piece),
            } => format!("#/j/{job}/p/{piece}/seat"),
            Self::SetOut { job, face: None } => format!("#/j/{job}/setout"),
            Self::SetOut {
                job,
                face: Some(face),
            } => format!("#/j/{job}/setout/{face}"),
            Self::Job { job, piece: None } => format!("#/j/{job}/job"),
            Self::Job {
                job,
                piece: Some(piece),
            } => format!("#/j/{job}/p/{piece}/job"),
            Self::Checks {
                job,
                piece: Some(piece),
                feature: Some(feature),
            } => format!("#/j/{job}/p/{piece}/checks/{feature}"),
            Self::Checks {
                job,
                piece: Some(piece),
                feature: None,
            } => format!("#/j/{job}/p/{piece}/checks"),
            Self::Checks { job, .. } => format!("#/j/{job}/checks"),
            Self::Changes { job, issue: None } => format!("#/j/{job}/changes"),
            Self::Changes {
                job,
                issue: Some(issue),
            } => format!("#/j/{job}/changes/{issue}"),
            Self::Templates {
                job, piece: None, ..
            } => format!("#/j/{job}"),
            Self::Templates {
                job,
                piece: Some(piece),
                feature: None,
            } => {
                format!("#/j/{job}/p/{piece}/templates")
            }
            Self::Templates {
                job,
                piece: Some(piece),
                feature: Some(feature),
            } => {
                format!("#/j/{job}/p/{piece}/templates/{feature}")
            }
        }
    }

    /// Another piece, feature or face on the same screen, not another screen.
    #[must_use]
    pub fn same_screen(&self, other: &Self) -> bool {
        let begun = matches!((self, other), (Self::NewQuick, Self::Quick { .. }));
        begun || core::mem::discriminant(self) == core::mem::discriminant(other)
    }

    /// The job it is about.
    #[must_use]
    pub fn job(&self) -> Option<&JobId> {
        match self {
            Self::Quick { job }
            | Self::Templates { job, .. }
            | Self::Measure { job, .. }
            | Self::Checks { job, .. }
            | Self::Changes { job, .. }
            | Self::Printer { job }
            | Self::History { job }
            | Self::Seat { job, .. }
            | Self::SetOut { job, .. }
            | Self::Holes { job, .. }
            | Self::Job { job, .. } => Some(job),
            Self::Start | Self::NewQuick | Self::Unknown(_) => None,
        }
    }

    /// The piece it is about.
    #[must_use]
    pub fn piece(&self) -> Option<&PieceId> {
        match self {
            Self::Templates { piece, .. }
            | Self::Measure { piece, .. }
            | Self::Seat { piece, .. }
            | Self::Holes { piece, .. }
            | Self::Checks { piece, .. }
            | Self::Job { piece, .. } => piece.as_ref(),
            _ => None,
        }
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    #[track_caller]
    fn check(hash: &str, back: &str) {
        assert_eq!(Route::read(hash).address(), back);
        assert_eq!(Route::read(back), Route::read(hash));
    }

    #[test]
    fn addresses_are_read_back_as_written() {
        check("", "#/");
        check("#/", "#/");
        check("#/quick", "#/quick");
        check("#/j/quay-puffins", "#/j/quay-puffins");
        check("#/j/q7/quick", "#/j/q7/quick");
        check("#/j/q7/c/cap-9", "#/j/q7/c/cap-9/measure");
        check("#/j/q7/p/7/measure", "#/j/q7/p/7/measure");
        check("#/j/q7/measure", "#/j/q7/measure");
        check("#/j/q7/checks", "#/j/q7/checks");
        check("#/j/q7/p/7/checks", "#/j/q7/p/7/checks");
        check("#/j/q7/p/7/checks/eye-left", "#/j/q7/p/7/checks/eye-left");
        check("#/j/q7/changes", "#/j/q7/changes");
        check("#/j/q7/changes/i2", "#/j/q7/changes/i2");
        check("#/j/q7/job", "#/j/q7/job");
        check("#/j/q7/p/7/job", "#/j/q7/p/7/job");
        check("#/j/q7/setout", "#/j/q7/setout");
        check("#/j/q7/setout/head-left", "#/j/q7/setout/head-left");
        check("#/j/q7/printer", "#/j/q7/printer");
        check("#/j/q7/history", "#/j/q7/history");
        check("#/j/q7/seat", "#/j/q7/seat");
        check("#/j/q7/holes", "#/j/q7/holes");
        check("#/j/q7/p/7/holes", "#/j/q7/p/7/holes");
        check("#/j/q7/p/7/seat", "#/j/q7/p/7/seat");
        check("#/j/q7/p/7", "#/j/q7/p/7/templates");
        check(
            "#/j/q7/p/7/templates/eye-left",
            "#/j/q7/p/7/templates/eye-left",
        );
        check("#/j/q7/p/7/eye-left", "#/j/q7/p/7/templates/eye-left");
    }

    #[test]
    fn strange_addresses_are_kept_to_be_named() {
        assert_eq!(
            Route::read("#/j/Not An Id"),
            Route::Unknown("/j/Not An Id".into())
        );
        assert_eq!(Route::read("#/nowhere"), Route::Unknown("/nowhere".into()));
    }
}
