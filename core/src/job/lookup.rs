//! What is asked of a job in many places: a piece's number, the casting under a feature, the last print.

use super::SheetOf;
use super::design::{FeatureEdit, Hand, IssueEdit, TemplateEdit};
use super::fold::{Job, Kept};
use super::ids::*;
use super::payload::Printed;
use super::rack::TemplateSays;

/// A letter or digit, near enough for a file's name: Unicode's own tables are too long to load for that.
fn is_of_a_word(c: char) -> bool {
    let beyond = c >= '\u{c0}'
        && !matches!(c, '×' | '÷' | '\u{2000}'..='\u{2bff}' | '\u{3000}'..='\u{303f}');
    c.is_ascii_alphanumeric() || beyond
}

/// A name in small letters and digits, words joined by a line; nothing where none is left.
fn in_a_file_name(name: &str) -> Option<String> {
    let plain = name.replace(" × ", "x").to_ascii_lowercase();
    let words = plain.split(|c| !is_of_a_word(c));
    let words: Vec<&str> = words.filter(|w| !w.is_empty()).collect();
    let stem: String = words.join("-").chars().take(LONGEST_STEM).collect();
    let stem = stem.trim_end_matches('-');
    (!stem.is_empty()).then(|| stem.to_owned())
}

/// A longer title is cut off in the names of files, letters.
const LONGEST_STEM: usize = 40;

impl Job {
    /// Its title, or its id where nobody gave it one.
    #[must_use]
    pub fn title(&self) -> String {
        let title = self.about.title.clone();
        title.unwrap_or_else(|| self.id.to_string())
    }

    /// Features in the order in which people read them: by name, the left of a pair before the right.
    #[must_use]
    pub fn features_in_order(&self) -> Vec<(&FeatureId, &FeatureEdit)> {
        let mut features: Vec<_> = self.features.iter().collect();
        features.sort_by_key(|(id, f)| {
            (
                f.name.clone(),
                f.hand.map(|h| h == Hand::Right),
                (*id).clone(),
            )
        });
        features
    }

    /// What the files of the job are called after: its title in letters and digits (`oval-70x42`), without
    /// what stands in brackets, or its id where the title has none.
    #[must_use]
    pub fn file_stem(&self) -> String {
        let title = self.about.title.as_deref().unwrap_or_default();
        let title = title.split(" (").next().unwrap_or_default();
        in_a_file_name(title).unwrap_or_else(|| self.id.to_string())
    }

    /// What the files of a sheet are called after: what it carries, as [`Self::file_stem`] has titles, and what
    /// it is of that (`eye-left`, `bracket-jig`); the id of what has no name.
    #[must_use]
    pub fn sheet_stem(&self, of: &SheetOf) -> String {
        let (id, name) = match of.entity() {
            EntityRef::Feature(id) => {
                let edit = self.features.get(&id);
                let name = edit.and_then(|f| f.name.clone());
                let hand = edit.and_then(|f| f.hand).map(|hand| match hand {
                    Hand::Left => "left",
                    Hand::Right => "right",
                });
                // Some write the hand into the name: once is enough.
                let said = |name: &str, hand: &str| name.to_ascii_lowercase().contains(hand);
                let hand = hand.filter(|hand| !name.as_deref().is_some_and(|n| said(n, hand)));
                let name = name.map(|n| format!("{n} {}", hand.unwrap_or_default()));
                (id.to_string(), name)
            }
            EntityRef::Pair(id) => {
                let name = self.pairs.get(&id).and_then(|p| p.name.clone());
                (id.to_string(), name)
            }
            EntityRef::Fixing(id) => {
                let name = self.fixings.get(&id).and_then(|f| f.name.clone());
                (id.to_string(), name)
            }
            _ => return of.to_string(),
        };
        let whole = of.to_string();
        let what = whole.strip_prefix(&id).unwrap_or_default();
        let name = name.and_then(|name| in_a_file_name(&name)).unwrap_or(id);
        format!("{name}{what}")
    }

    /// A piece's number; none is before the first.
    #[must_use]
    pub fn number_of(&self, piece: &PieceId) -> u32 {
        self.pieces.get(piece).and_then(|p| p.number).unwrap_or(0)
    }

    /// The piece that a casting is in.
    #[must_use]
    pub fn piece_with(&self, casting: &CastingId) -> Option<&PieceId> {
        let mut all = self.marriages.iter();
        all.find_map(|(piece, m)| m.castings.contains(casting).then_some(piece))
    }

    /// The casting of a piece that carries a feature.
    #[must_use]
    pub fn casting_with(&self, feature: &FeatureId, piece: &PieceId) -> Option<&CastingId> {
        let face = self.features.get(feature)?.face.as_ref()?;
        let part = self.faces.get(face)?.part.as_ref()?;
        self.casting_of(piece, part)
    }

    /// The newest print of a kind that serves a piece.
    #[must_use]
    pub fn last_print(&self, of: impl Into<SheetOf>, piece: &PieceId) -> Option<&Kept<Printed>> {
        let of = of.into();
        self.printed
            .about_part(piece, &of.entity())
            .rfind(|p| p.says.of == of)
    }

    /// The prints by which a template to be laid back on a feature of a piece may have been made: newest
    /// first, a reference once, without those of which every template on the rack is retired.
    #[must_use]
    pub fn may_be_laid_back(&self, feature: &FeatureId, piece: &PieceId) -> Vec<&Kept<Printed>> {
        let mut all: Vec<&Kept<Printed>> = Vec::new();
        for print in self.printed.about(piece).rev() {
            let of = &print.says.of;
            // Rods lead to a middle; no line on them is laid back.
            let carries = !matches!(of, SheetOf::Rods(_)) && self.carried_by(of).contains(&feature);
            let known = all.iter().any(|p| p.says.reference == print.says.reference);
            if carries && !known && !self.is_retired(&print.says.reference) {
                all.push(print);
            }
        }
        all
    }

    /// Templates were made from a print, and all of them are retired.
    fn is_retired(&self, reference: &str) -> bool {
        let retired = |id| {
            self.happened_to(id)
                .any(|e| matches!(e.says.says, TemplateSays::Retired { .. }))
        };
        let made = |t: &TemplateEdit| t.reference.as_deref() == Some(reference);
        let mut made = self.templates.iter().filter(|(_, t)| made(t)).peekable();
        made.peek().is_some() && made.all(|(id, _)| retired(id))
    }

    /// The newest issue that a sheet for a piece is made from. Issues change features one by one; a
    /// fixing goes by the whole designs.
    #[must_use]
    pub fn issue_of_sheet(&self, of: &SheetOf, piece: u32) -> Option<(&IssueId, &IssueEdit)> {
        let features = self.carried_by(of);
        if features.is_empty() {
            return self
                .issues_on(piece)
                .into_iter()
                .rfind(|(_, i)| i.amends.is_none());
        }
        features
            .into_iter()
            .filter_map(|feature| self.issue_of(feature, piece))
            .max_by_key(|(_, issue)| issue.number)
    }

    /// The features that a sheet carries; none where it is of holes.
    #[must_use]
    pub fn carried_by<'a>(&'a self, of: &'a SheetOf) -> Vec<&'a FeatureId> {
        match of {
            SheetOf::Feature(id)
            | SheetOf::Shell(id)
            | SheetOf::Patches(id)
            | SheetOf::Gores(id)
            | SheetOf::Rods(id) => vec![id],
            SheetOf::Pair(id) => {
                let pair = self.pairs.get(id);
                pair.map_or_else(Vec::new, |p| p.left.iter().chain(&p.right).collect())
            }
            SheetOf::Fixing(_) | SheetOf::Jig(_) | SheetOf::Plate(_) => Vec::new(),
        }
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::job::{JobId, Ledger};

    #[test]
    fn files_are_called_by_what_the_job_is_called() {
        let mut job = Ledger::new(JobId::new("q74dqsk2p").unwrap()).fold();
        for (title, name) in [
            ("Oval 70 × 42", "oval-70x42"),
            ("Quay puffins (invented)", "quay-puffins"),
            ("  ../..\\ ", "q74dqsk2p"),
            ("Möwe – 3½\"", "möwe-3"),
        ] {
            job.about.title = Some(title.to_owned());
            assert_eq!(job.file_stem(), name);
        }
        job.about.title = Some("long ".repeat(40));
        assert!(job.file_stem().chars().count() <= LONGEST_STEM);
    }

    #[test]
    fn files_are_called_after_what_a_sheet_carries() {
        let mut job = Ledger::new(JobId::new("j").unwrap()).fold();
        let id = FeatureId::new("sv57h5g2f").unwrap();
        let mut called = |name: Option<&str>, hand| {
            let edit = FeatureEdit {
                name: name.map(Into::into),
                hand,
                ..FeatureEdit::default()
            };
            job.features.insert(id.clone(), edit);
            let sheets = [SheetOf::Feature(id.clone()), SheetOf::Shell(id.clone())];
            sheets.map(|of| job.sheet_stem(&of))
        };
        assert_eq!(
            called(Some("Name board"), None),
            ["name-board", "name-board-shell"]
        );
        assert_eq!(called(Some("Eye"), Some(Hand::Left))[0], "eye-left");
        assert_eq!(called(Some("Left eye"), Some(Hand::Left))[0], "left-eye");
        assert_eq!(called(Some(" ?! "), None)[1], "sv57h5g2f-shell");
        assert_eq!(called(None, None)[0], "sv57h5g2f");
        let missing = SheetOf::Jig(FixingId::new("gone").unwrap());
        assert_eq!(job.sheet_stem(&missing), "gone-jig");
    }
}
