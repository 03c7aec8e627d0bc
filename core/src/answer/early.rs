//! What passes between page and core until a first sheet is there: the same words as [`Ask`] and
//! [`Answer`], without all the rest, which the modules at the start would have to carry along.

use super::ask::{Ask, FileKind, Request};
use super::reply::{Answer, LivePicture, Refusal, Reply, Survey, TemplateView};
use crate::job::{FeatureId, JobId, PieceId, Printed, SheetOf};
use crate::sheet::{CardSet, Paper};
use serde::{Deserialize, Serialize};

/// A [`Request`].
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct EarlyRequest {
    number: u64,
    ask: EarlyAsk,
}

#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum EarlyAsk {
    Facts {
        job: JobId,
        facts: Vec<String>,
        #[serde(default)]
        attachments: Vec<(String, String)>,
    },
    Survey {
        job: JobId,
    },
    Run {
        job: JobId,
    },
    Template {
        job: JobId,
        feature: FeatureId,
        piece: PieceId,
        paper: Paper,
        day: String,
    },
    Live {
        job: JobId,
        feature: FeatureId,
        piece: PieceId,
    },
    Rods {
        job: JobId,
        feature: FeatureId,
        pieces: Vec<PieceId>,
        paper: Paper,
        day: String,
    },
    GaugeCards {
        set: CardSet,
        paper: Paper,
    },
    TracingFrame {
        paper: Paper,
    },
    File {
        job: JobId,
        kind: FileKind,
        of: Option<SheetOf>,
        pieces: Vec<PieceId>,
        paper: Paper,
        day: String,
    },
}

/// Says the same of both, field by field.
macro_rules! same {
    ($it:expr, $from:ident => $to:ident, $($kind:ident { $($field:ident),* }),* $(,)?; $($rest:tt)*) => {
        match $it {
            $($from::$kind { $($field),* } => $to::$kind { $($field),* },)*
            $($rest)*
        }
    };
}

impl EarlyRequest {
    /// The same question; nothing where it is none of the early ones.
    #[must_use]
    pub fn of(request: Request) -> Option<Self> {
        let ask = same!(request.ask, Ask => EarlyAsk,
            Facts { job, facts, attachments },
            Survey { job },
            Run { job },
            Template { job, feature, piece, paper, day },
            Live { job, feature, piece },
            Rods { job, feature, pieces, paper, day },
            GaugeCards { set, paper },
            TracingFrame { paper },
            File { job, kind, of, pieces, paper, day };
            _ => return None,
        );
        Some(Self {
            number: request.number,
            ask,
        })
    }
}

impl From<EarlyRequest> for Request {
    fn from(early: EarlyRequest) -> Self {
        let ask = same!(early.ask, EarlyAsk => Ask,
            Facts { job, facts, attachments },
            Survey { job },
            Run { job },
            Template { job, feature, piece, paper, day },
            Live { job, feature, piece },
            Rods { job, feature, pieces, paper, day },
            GaugeCards { set, paper },
            TracingFrame { paper },
            File { job, kind, of, pieces, paper, day };
        );
        Self {
            number: early.number,
            ask,
        }
    }
}

/// An [`Answer`].
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct EarlyAnswer {
    number: u64,
    says: Result<EarlyReply, Refusal>,
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum EarlyReply {
    Known {
        facts: usize,
    },
    Survey(Survey),
    Run(crate::run::RunView),
    Template(Box<TemplateView>),
    Live(Box<LivePicture>),
    File {
        name: String,
        media: String,
        pages: usize,
        printed: Vec<Printed>,
        left_out: Vec<String>,
    },
}

impl EarlyAnswer {
    /// The same answer; nothing where it is none of the early ones. What stands beside it is left there.
    #[must_use]
    pub fn of(answer: Answer) -> Option<Self> {
        let says = match answer.says {
            Err(refusal) => Err(refusal),
            Ok(reply) => Ok(same!(reply, Reply => EarlyReply,
                Known { facts },
                File { name, media, pages, printed, left_out };
                Reply::Survey(survey) => EarlyReply::Survey(survey),
                Reply::Run(run) => EarlyReply::Run(run),
                Reply::Template(view) => EarlyReply::Template(view),
                Reply::Live(picture) => EarlyReply::Live(picture),
                _ => return None,
            )),
        };
        Some(Self {
            number: answer.number,
            says,
        })
    }
}

impl From<EarlyAnswer> for Answer {
    fn from(early: EarlyAnswer) -> Self {
        let says = early.says.map(|reply| {
            same!(reply, EarlyReply => Reply,
                Known { facts },
                File { name, media, pages, printed, left_out };
                EarlyReply::Survey(survey) => Reply::Survey(survey),
                EarlyReply::Run(run) => Reply::Run(run),
                EarlyReply::Template(view) => Reply::Template(view),
                EarlyReply::Live(picture) => Reply::Live(picture),
            )
        });
        Self {
            number: early.number,
            says,
            bytes: Vec::new(),
        }
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::answer::Half;
    use crate::json;

    fn asks() -> Vec<Ask> {
        let job = || JobId::new("j").unwrap();
        let (feature, piece) = (FeatureId::new("eye").unwrap(), PieceId::new("7").unwrap());
        let (paper, day) = (Paper::A4, "2026-11-27".to_owned());
        vec![
            Ask::Facts {
                job: job(),
                facts: vec!["{}".into()],
                attachments: vec![("h".into(), "AA==".into())],
            },
            Ask::Survey { job: job() },
            Ask::Run { job: job() },
            Ask::Template {
                job: job(),
                feature: feature.clone(),
                piece: piece.clone(),
                paper,
                day: day.clone(),
            },
            Ask::Live {
                job: job(),
                feature: feature.clone(),
                piece: piece.clone(),
            },
            Ask::Rods {
                job: job(),
                feature: feature.clone(),
                pieces: vec![piece.clone()],
                paper,
                day: day.clone(),
            },
            Ask::GaugeCards {
                set: CardSet::EveryFourth,
                paper,
            },
            Ask::TracingFrame { paper },
            Ask::File {
                job: job(),
                kind: FileKind::Pdf,
                of: Some(SheetOf::Feature(feature)),
                pieces: vec![piece],
                paper,
                day,
            },
        ]
    }

    #[test]
    fn an_early_question_has_the_words_of_any_other() {
        for (number, ask) in (1..).zip(asks()) {
            let request = Request { number, ask };
            let text = serde_json::to_string(&request).unwrap();
            let early = EarlyRequest::of(request).unwrap();
            assert_eq!(serde_json::to_string(&early).unwrap(), text);
            // And is read as the same by whoever knows early ones, or all.
            let early: EarlyRequest = json::read(&text).unwrap();
            let back = Request::from(early);
            assert_eq!(serde_json::to_string(&back).unwrap(), text);
            assert!(json::read::<Request>(&text).is_ok());
        }
    }

    #[test]
    fn whatever_the_first_half_answers_is_early() {
        let early = asks().into_iter().filter(|a| a.waits_for() == Half::First);
        assert_eq!(early.count(), 5);
        let other = Ask::Pooled {
            job: JobId::new("j").unwrap(),
        };
        assert_eq!(other.waits_for(), Half::Rest);
        assert!(
            EarlyRequest::of(Request {
                number: 1,
                ask: other
            })
            .is_none()
        );
    }

    #[test]
    fn an_early_answer_has_the_words_of_any_other() {
        let file = Reply::File {
            name: "a.pdf".into(),
            media: "application/pdf".into(),
            pages: 2,
            printed: Vec::new(),
            left_out: vec!["b".into()],
        };
        let cannot = Refusal::CannotDo {
            sentence: "no".into(),
        };
        for says in [
            Ok(Reply::Known { facts: 3 }),
            Ok(Reply::Survey(Survey { pieces: Vec::new() })),
            Ok(file),
            Err(Refusal::UnknownJob),
            Err(cannot),
        ] {
            let answer = Answer {
                number: 9,
                says,
                bytes: Vec::new(),
            };
            let text = serde_json::to_string(&answer).unwrap();
            let early = EarlyAnswer::of(answer.clone()).unwrap();
            assert_eq!(serde_json::to_string(&early).unwrap(), text);
            let back: EarlyAnswer = json::read(&text).unwrap();
            assert_eq!(Answer::from(back), answer);
        }
    }
}
