//! What the Job screen says when something on it is done: facts, from the job and what was typed.

use crate::widgets::length::Heard;
use samespot_core::job::{
    CastingEdit, CastingId, Edit, EntityRef, Hold, HoldUntil, Job, JobEdit, Marriage, MouldEdit,
    MouldId, PartEdit, PartId, Payload, PieceEdit, PieceId, Section, SectionId,
};
use samespot_core::run::{casting_name, next_pull, piece_name};
use samespot_core::units::{FieldOptions, Length, Unit};

/// An edit, where the fields can be written (they always can: no number in them is unbounded).
pub fn edit(on: EntityRef, fields: &impl serde::Serialize) -> Vec<Payload> {
    Edit::of(on, fields)
        .map(Payload::Edit)
        .into_iter()
        .collect()
}

/// The number proposed for the next casting of a part.
pub fn next_number(job: &Job, part: &PartId) -> u32 {
    job.castings
        .values()
        .filter(|c| c.part.as_ref() == Some(part) && c.pattern != Some(true))
        .filter_map(|c| c.number.as_deref()?.trim().parse::<u32>().ok())
        .max()
        .unwrap_or(0)
        .saturating_add(1)
}

/// The lengths in a text, one on each line: what a tool said of one length again and again.
///
/// # Errors
/// Which line is none, in words.
pub fn repeats(text: &str) -> Result<Vec<Length>, String> {
    let field = FieldOptions::size(Unit::Mm);
    text.lines()
        .map(str::trim)
        .filter(|line| !line.is_empty())
        .map(|line| match Heard::of(line, None, &field) {
            Heard::Length(length) => Ok(length.mm),
            Heard::Refused(why) => Err(format!("“{line}”: {why}")),
            _ => Err(format!(
                "“{line}” could mean several lengths: type it with its unit"
            )),
        })
        .collect()
}

/// The most castings entered in one go: a slip of the finger must not make a thousand.
pub const MOST_AT_ONCE: u32 = 24;

/// Several castings at once, with the next numbers and pulls, from the part's mould.
pub fn add_castings(
    job: &Job,
    part: &PartId,
    count: u32,
    name: &mut dyn FnMut() -> String,
) -> Vec<Payload> {
    let mould = job
        .parts
        .get(part)
        .and_then(|p| p.mould.clone())
        .filter(|m| job.moulds.contains_key(m));
    let (number, pull) = (next_number(job, part), next_pull(job, part, mould.as_ref()));
    (0..count.min(MOST_AT_ONCE))
        .filter_map(|k| {
            let id = CastingId::new(&format!("c{}", name())).ok()?;
            let fields = CastingEdit {
                part: Some(part.clone()),
                mould: mould.clone(),
                number: Some(number.saturating_add(k).to_string()),
                pull: Some(pull.saturating_add(k)),
                ..CastingEdit::default()
            };
            let mut said = edit(EntityRef::Casting(id.clone()), &fields);
            said.extend(own_piece(job, part, number.saturating_add(k)).map(|piece| {
                Payload::Marriage(Marriage {
                    piece,
                    castings: vec![id],
                    reason: None,
                })
            }));
            Some(said)
        })
        .flatten()
        .collect()
}

/// Where a piece is one casting and no more, casting 7 is piece 7, unless that has its casting.
fn own_piece(job: &Job, part: &PartId, number: u32) -> Option<PieceId> {
    let alone = job.parts.len() == 1 && job.parts.contains_key(part);
    let (piece, _) = job
        .pieces
        .iter()
        .find(|(_, p)| p.number == Some(number))
        .filter(|_| alone)?;
    let empty = job
        .marriages
        .get(piece)
        .is_none_or(|m| m.castings.is_empty());
    empty.then(|| piece.clone())
}

/// The first of these pieces that has no casting of this one's part.
pub fn first_free(job: &Job, casting: &CastingId, pieces: &[PieceId]) -> Option<PieceId> {
    let part_of = |c: &CastingId| job.castings.get(c).and_then(|c| c.part.clone());
    let part = part_of(casting)?;
    pieces
        .iter()
        .find(|p| {
            let there = job.marriages.get(*p);
            !there.is_some_and(|m| {
                m.castings
                    .iter()
                    .any(|c| part_of(c).as_ref() == Some(&part))
            })
        })
        .cloned()
}

/// Puts a casting into a piece, or into none. A casting of the same part that was there comes out,
/// and the casting leaves the piece it was in.
pub fn marry(job: &Job, casting: &CastingId, piece: Option<&PieceId>) -> Vec<Payload> {
    let part = job.castings.get(casting).and_then(|c| c.part.as_ref());
    let mut all = Vec::new();
    for (other, marriage) in &job.marriages {
        let claims = job
            .claimed_twice
            .iter()
            .any(|c| c.casting == *casting && c.without == *other);
        if Some(other) != piece && (marriage.castings.contains(casting) || claims) {
            all.push(Payload::Marriage(Marriage {
                piece: other.clone(),
                castings: without(&marriage.castings, casting),
                reason: None,
            }));
        }
    }
    if let Some(piece) = piece {
        let there = job
            .marriages
            .get(piece)
            .map_or(&[][..], |m| m.castings.as_slice());
        let mut castings: Vec<CastingId> = there
            .iter()
            .filter(|c| {
                let other = job.castings.get(c).and_then(|c| c.part.as_ref());
                *c != casting && (part.is_none() || other != part)
            })
            .cloned()
            .collect();
        castings.push(casting.clone());
        if castings != there {
            all.push(Payload::Marriage(Marriage {
                piece: piece.clone(),
                castings,
                reason: None,
            }));
        }
    }
    all
}

fn without(castings: &[CastingId], casting: &CastingId) -> Vec<CastingId> {
    castings.iter().filter(|c| *c != casting).cloned().collect()
}

/// What putting a casting into a piece means, where it means more than that.
pub fn marry_means(job: &Job, casting: &CastingId, piece: Option<&PieceId>) -> Option<String> {
    let own = casting_name(job, casting);
    let from = job.piece_with(casting);
    let part = job.castings.get(casting).and_then(|c| c.part.as_ref());
    let displaced = piece
        .and_then(|p| job.marriages.get(p))
        .into_iter()
        .flat_map(|m| &m.castings)
        .find(|c| {
            *c != casting
                && part.is_some()
                && job.castings.get(c).and_then(|c| c.part.as_ref()) == part
        });
    let mut said = Vec::new();
    if let (Some(from), true) = (from, from != piece) {
        said.push(format!("{own} leaves {}", piece_name(job, from)));
    }
    if let (Some(out), Some(piece)) = (displaced, piece) {
        said.push(format!(
            "{} comes out of {} and is in none",
            casting_name(job, out),
            piece_name(job, piece)
        ));
    }
    (!said.is_empty()).then(|| said.join("; "))
}

/// Pieces 1 to `pieces` in batches; those that are there keep their names and castings.
pub fn set_up_pieces(
    job: &Job,
    pieces: u32,
    in_batch: u32,
    name: &mut dyn FnMut() -> String,
) -> Vec<Payload> {
    let mut all = edit(
        EntityRef::Job,
        &JobEdit {
            pieces: Some(pieces),
            ..JobEdit::default()
        },
    );
    for number in 1..=pieces.min(MOST_PIECES) {
        let batch = (number - 1) / in_batch.max(1) + 1;
        let known = job.pieces.iter().find(|(_, p)| p.number == Some(number));
        let id = match known {
            Some((_, p)) if p.batch == Some(batch) => continue,
            Some((id, _)) => Some(id.clone()),
            None => PieceId::new(&format!("p{}", name())).ok(),
        };
        if let Some(id) = id {
            let fields = PieceEdit {
                number: Some(number),
                batch: Some(batch),
            };
            all.extend(edit(EntityRef::Piece(id.clone()), &fields));
            if known.is_none()
                && let Some(casting) = own_casting(job, number)
            {
                all.push(Payload::Marriage(Marriage {
                    piece: id,
                    castings: vec![casting],
                    reason: None,
                }));
            }
        }
    }
    all
}

/// Where a piece is one casting and no more, the one with its number that is in no piece yet: eighteen castings
/// need no eighteen taps.
fn own_casting(job: &Job, number: u32) -> Option<CastingId> {
    if job.parts.len() != 1 {
        return None;
    }
    let mut own = job.castings.iter().filter(|(id, c)| {
        let numbered = c.number.as_deref().and_then(|n| n.trim().parse().ok());
        c.pattern != Some(true) && numbered == Some(number) && job.piece_with(id).is_none()
    });
    let (id, _) = own.next()?;
    // Two of one number: nobody knows which.
    own.next().is_none().then(|| id.clone())
}

/// The longest run set up in one go.
pub const MOST_PIECES: u32 = 200;

/// A part with its mould in these sections (names separated by commas; none for a mould in one).
pub fn add_part(part: &str, sections: &str, name: &mut dyn FnMut() -> String) -> Vec<Payload> {
    let (Ok(id), Ok(mould)) = (
        PartId::new(&format!("t{}", name())),
        MouldId::new(&format!("m{}", name())),
    ) else {
        return Vec::new();
    };
    let sections: Vec<Section> = sections
        .split(',')
        .map(str::trim)
        .filter(|s| !s.is_empty())
        .filter_map(|s| {
            Some(Section {
                id: SectionId::new(&format!("s{}", name())).ok()?,
                name: s.to_owned(),
            })
        })
        .collect();
    let mut all = edit(
        EntityRef::Mould(mould.clone()),
        &MouldEdit {
            name: Some(format!("mould of {}", part.trim())),
            sections: (!sections.is_empty()).then_some(sections),
            ..MouldEdit::default()
        },
    );
    all.extend(edit(
        EntityRef::Part(id),
        &PartEdit {
            name: Some(part.trim().to_owned()),
            mould: Some(mould),
        },
    ));
    all
}

/// Stages from lines of text.
pub fn stages_of(text: &str) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    for line in text.lines().map(str::trim).filter(|l| !l.is_empty()) {
        if !all.iter().any(|s| s.to_lowercase() == line.to_lowercase()) {
            all.push(line.to_owned());
        }
    }
    all
}

/// Castings that stand at a stage which a new list no longer has.
pub fn left_standing(job: &Job, stages: &[String]) -> Vec<String> {
    job.castings
        .keys()
        .filter(|c| {
            job.stage_of(c)
                .is_some_and(|s| samespot_core::run::place_in(stages, s).is_none())
        })
        .map(|c| casting_name(job, c))
        .collect()
}

/// The job's holds with one more.
pub fn with_hold(holds: &[Hold], before: &str, until: HoldUntil) -> JobEdit {
    let hold = Hold {
        before: before.to_owned(),
        until,
    };
    let mut holds = holds.to_vec();
    if !holds.contains(&hold) {
        holds.push(hold);
    }
    JobEdit {
        holds: Some(holds),
        ..JobEdit::default()
    }
}

/// The job's holds with one less.
pub fn without_hold(holds: &[Hold], gone: &Hold) -> JobEdit {
    JobEdit {
        holds: Some(holds.iter().filter(|h| *h != gone).cloned().collect()),
        ..JobEdit::default()
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::indexing_slicing, reason = "tests")]
mod tests {
    use super::*;
    use samespot_core::job::{JobId, Ledger, ReplicaId, Writer};

    struct Bench(Ledger, u32);
    impl Bench {
        fn new() -> Self {
            Self(Ledger::new(JobId::new("j").unwrap()), 0)
        }
        fn say(&mut self, all: &[Payload]) -> Job {
            let writer = Writer {
                replica: ReplicaId(1),
                who: String::new(),
                wall: String::new(),
            };
            for p in all {
                self.0.write(&writer, p).unwrap();
            }
            self.0.fold()
        }
        fn names(&mut self) -> impl FnMut() -> String + use<> {
            self.1 += 100;
            let mut n = self.1;
            move || {
                n += 1;
                n.to_string()
            }
        }
    }

    fn base_with(count: u32) -> (Bench, Job, PartId) {
        let mut b = Bench::new();
        let mut names = b.names();
        let job = b.say(&add_part("base", "left half, right half", &mut names));
        let part = job.parts.keys().next().unwrap().clone();
        let mut names = b.names();
        let all = add_castings(&job, &part, count, &mut names);
        let job = b.say(&all);
        let mut names = b.names();
        let job = {
            let all = set_up_pieces(&job, 3, 2, &mut names);
            b.say(&all)
        };
        (b, job, part)
    }

    #[test]
    fn castings_come_with_the_next_numbers_and_pulls() {
        let (mut b, job, part) = base_with(3);
        assert_eq!((next_number(&job, &part), job.castings.len()), (4, 3));
        let mut names = b.names();
        let job = {
            let all = add_castings(&job, &part, 2, &mut names);
            b.say(&all)
        };
        let mut pulls: Vec<_> = job
            .castings
            .values()
            .map(|c| (c.pull, c.number.clone()))
            .collect();
        pulls.sort();
        assert_eq!(pulls[4], (Some(5), Some("5".into())));
        assert_eq!(
            job.moulds
                .values()
                .next()
                .unwrap()
                .sections
                .as_ref()
                .unwrap()
                .len(),
            2
        );
        assert_eq!(
            add_castings(&job, &part, 5000, &mut || "x".into()).len(),
            24
        );
    }

    #[test]
    fn pieces_stand_in_batches() {
        let (_, job, _) = base_with(0);
        let batches: Vec<_> = job
            .pieces_in_order()
            .iter()
            .map(|(_, p)| p.batch.unwrap())
            .collect();
        assert_eq!(batches, [1, 1, 2]);
        let again = set_up_pieces(&job, 3, 2, &mut || "y".into());
        assert_eq!(again.len(), 1, "what is there stays");
    }

    #[test]
    fn pieces_set_up_after_their_castings_have_those_of_their_numbers() {
        let (mut b, job, part) = base_with(2);
        let of = |job: &Job, n: u32| {
            let (id, _) = job
                .pieces
                .iter()
                .find(|(_, p)| p.number == Some(n))
                .unwrap();
            let castings = job.marriages.get(id).map(|m| m.castings.clone());
            let number = |c: &CastingId| job.castings[c].number.clone().unwrap();
            castings.iter().flatten().map(number).collect::<Vec<_>>()
        };
        assert_eq!([1, 2, 3].map(|n| of(&job, n).join("")), ["1", "2", ""]);
        // Two of one number: neither is taken.
        let job = {
            let twin = CastingEdit {
                part: Some(part),
                number: Some("4".into()),
                ..CastingEdit::default()
            };
            let twins = ["x1", "x2"].map(|id| CastingId::new(id).unwrap());
            let said = twins.map(|id| edit(EntityRef::Casting(id), &twin)).concat();
            b.say(&said)
        };
        let mut names = b.names();
        let all = set_up_pieces(&job, 4, 2, &mut names);
        assert!(of(&b.say(&all), 4).is_empty());
    }

    #[test]
    fn marrying_moves_a_casting_and_says_so() {
        let (mut b, job, _) = base_with(2);
        let castings: Vec<CastingId> = job.castings.keys().cloned().collect();
        let pieces: Vec<PieceId> = job
            .pieces_in_order()
            .iter()
            .map(|(id, _)| (*id).clone())
            .collect();
        assert_eq!(marry_means(&job, &castings[0], Some(&pieces[0])), None);
        let job = b.say(&marry(&job, &castings[0], Some(&pieces[0])));
        let job = b.say(&marry(&job, &castings[1], Some(&pieces[1])));
        // A swap: the one that was there comes out, and nothing is in two pieces.
        assert_eq!(
            marry_means(&job, &castings[0], Some(&pieces[1])).unwrap(),
            "base 1 leaves piece 1; base 2 comes out of piece 2 and is in none"
        );
        let job = b.say(&marry(&job, &castings[0], Some(&pieces[1])));
        assert!(job.claimed_twice.is_empty());
        assert_eq!(job.marriages[&pieces[1]].castings, [castings[0].clone()]);
        assert!(job.marriages[&pieces[0]].castings.is_empty());
        let job = b.say(&marry(&job, &castings[0], None));
        assert!(job.marriages.values().all(|m| m.castings.is_empty()));
        assert_eq!(job.married.len(), 5, "earlier marriages stay");
    }

    #[test]
    fn stages_are_lines_and_those_left_behind_are_named() {
        assert_eq!(
            stages_of(" pulled \n\nPrimed\nprimed\n"),
            ["pulled", "Primed"]
        );
        let (mut b, job, _) = base_with(1);
        let casting = job.castings.keys().next().unwrap().clone();
        let job = b.say(&[Payload::Stage(samespot_core::job::StageFact {
            casting,
            stage: "trimmed".into(),
            day: String::new(),
            reason: None,
        })]);
        assert_eq!(
            left_standing(&job, &stages_of("pulled\nprimed")),
            ["base 1"]
        );
    }
}
