//! The texts of many facts in one, to stand beside a question: written as JSON inside of JSON, a large job
//! would be gone over twice more by whoever asks and twice more by who answers.

use super::ask::Ask;

/// What parts them: no JSON holds it (RFC 8259: a sign below 20 stands in no text unescaped, and is no white
/// space).
const PARTED_BY: char = '\u{1e}';

/// Texts of facts, in order.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct FactTexts {
    joined: String,
    len: usize,
}

impl FactTexts {
    /// How many.
    #[must_use]
    pub const fn len(&self) -> usize {
        self.len
    }

    /// There is none.
    #[must_use]
    pub const fn is_empty(&self) -> bool {
        self.len == 0
    }

    /// As they stand beside a question.
    #[must_use]
    pub const fn as_bytes(&self) -> &[u8] {
        self.joined.as_bytes()
    }
}

impl<'a> FromIterator<&'a str> for FactTexts {
    fn from_iter<I: IntoIterator<Item = &'a str>>(texts: I) -> Self {
        let mut all = Self::default();
        for text in texts {
            if all.len > 0 {
                all.joined.push(PARTED_BY);
            }
            all.joined.push_str(text);
            all.len += 1;
        }
        all
    }
}

impl Ask {
    /// With the facts that stand beside it, where it tells of a job.
    #[must_use]
    pub fn with_facts_beside(mut self, beside: &[u8]) -> Self {
        if let Self::Facts { facts, .. } = &mut self
            && !beside.is_empty()
        {
            let texts = String::from_utf8_lossy(beside);
            facts.extend(texts.split(PARTED_BY).map(str::to_owned));
        }
        self
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::job::JobId;

    #[test]
    fn facts_beside_a_question_are_those_that_were_put_there() {
        let told = |facts: &[&str]| {
            let ask = Ask::Facts {
                job: JobId::new("j").unwrap(),
                facts: vec!["{\"in\":\"it\"}".into()],
                attachments: Vec::new(),
            };
            let texts: FactTexts = facts.iter().copied().collect();
            assert_eq!(
                (texts.len(), texts.is_empty()),
                (facts.len(), facts.is_empty())
            );
            match ask.with_facts_beside(texts.as_bytes()) {
                Ask::Facts { facts, .. } => facts,
                _ => Vec::new(),
            }
        };
        assert_eq!(told(&[]), ["{\"in\":\"it\"}"]);
        let two = told(&["{\"a\":\"ä\\u001e\"}", "{}"]);
        assert_eq!(two, ["{\"in\":\"it\"}", "{\"a\":\"ä\\u001e\"}", "{}"]);
        // Nothing else takes what stands beside it for facts.
        let job = JobId::new("j").unwrap();
        let ask = Ask::Survey { job: job.clone() };
        let same = ask.with_facts_beside(b"{}");
        assert!(matches!(same, Ask::Survey { job: still } if still == job));
    }
}
