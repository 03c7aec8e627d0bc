//! Castings of one number put into the piece of that number, all with one tap: base 7 and figure 7
//! into piece 7.

use super::{from_job, of_job, say};
use leptos::prelude::*;
use samespot_core::job::{CastingId, Job, Marriage, PartId, Payload, PieceId};
use samespot_core::run::{casting_name, piece_name};

/// The count a number stands for: 7, *07*, *B7*; none where it holds several numbers, as *2-7*.
fn count(number: &str) -> Option<u32> {
    let digits = number
        .trim()
        .trim_start_matches(|c: char| !c.is_ascii_digit());
    digits.parse().ok()
}

/// What each piece would have beside what it has: castings in no piece whose number is its own and no
/// other's of their part, where it has none of that part.
fn by_number(job: &Job) -> Vec<(PieceId, Vec<CastingId>)> {
    let numbered = |id: &CastingId| {
        job.castings
            .get(id)
            .and_then(|c| count(c.number.as_deref()?))
    };
    let part = |id: &CastingId| job.castings.get(id).and_then(|c| c.part.clone());
    let free = |id: &CastingId| {
        let pattern = job
            .castings
            .get(id)
            .is_some_and(|c| c.pattern == Some(true));
        !pattern && job.piece_with(id).is_none()
    };
    let only = |of: &PartId, number: u32| {
        let mut all = job
            .castings
            .keys()
            .filter(|id| free(id) && numbered(id) == Some(number) && part(id).as_ref() == Some(of));
        let first = all.next()?;
        // Two of one number: nobody knows which.
        all.next().is_none().then(|| first.clone())
    };
    job.pieces_in_order()
        .into_iter()
        .filter_map(|(piece, edit)| {
            let number = edit.number?;
            let there = job.marriages.get(piece).map_or(&[][..], |m| &m.castings);
            let has = |of: &PartId| there.iter().any(|c| part(c).as_ref() == Some(of));
            let new: Vec<CastingId> = job
                .parts
                .keys()
                .filter(|of| !has(of))
                .filter_map(|of| only(of, number))
                .collect();
            (!new.is_empty()).then(|| (piece.clone(), new))
        })
        .collect()
}

/// The same, said.
fn together(job: &Job) -> Vec<Payload> {
    by_number(job)
        .into_iter()
        .map(|(piece, new)| {
            let there = job.marriages.get(&piece).map(|m| m.castings.clone());
            let castings = there.into_iter().flatten().chain(new).collect();
            Payload::Marriage(Marriage {
                piece,
                castings,
                reason: None,
            })
        })
        .collect()
}

/// What the key would do, by its first piece: *bollard 7, cap 7 and puffin 7 into piece 7*.
fn words(job: &Job) -> Option<String> {
    let all = by_number(job);
    let (piece, castings) = all.first()?;
    let names: Vec<String> = castings.iter().map(|c| casting_name(job, c)).collect();
    let first = match names.split_last() {
        Some((last, [])) => last.clone(),
        Some((last, others)) => format!("{} and {last}", others.join(", ")),
        None => return None,
    };
    let others = match all.len() {
        1 => String::new(),
        2 => ", and one more piece likewise".to_owned(),
        n => format!(", and {} more pieces likewise", n - 1),
    };
    Some(format!("{first} into {}{others}", piece_name(job, piece)))
}

/// Offered where castings are in no piece and their numbers say in which they belong.
#[component]
pub(super) fn ByNumber() -> impl IntoView {
    let offer = Memo::new(move |_| of_job(words).flatten());
    move || {
        offer.get().map(|words| {
            view! {
                <div class="job-row">
                    <button type="button" id="castings-by-number" class="key"
                        on:click=move |_| say(from_job(together).unwrap_or_default())>
                        "Put castings together by their numbers"
                    </button>
                    <span class="second">{crate::say::job::capital(&words)}</span>
                </div>
            }
        })
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::indexing_slicing, reason = "tests")]
mod tests {
    use super::*;
    use crate::screens::job::model::{add_castings, add_part, edit, set_up_pieces};
    use samespot_core::job::{CastingEdit, EntityRef, JobId, Ledger, ReplicaId, Writer};

    fn bench() -> (Ledger, Writer) {
        let writer = Writer {
            replica: ReplicaId(1),
            who: String::new(),
            wall: String::new(),
        };
        (Ledger::new(JobId::new("j").unwrap()), writer)
    }

    #[test]
    fn castings_of_one_number_make_its_piece() {
        let (mut ledger, writer) = bench();
        let mut n = 0;
        let mut name = || {
            n += 1;
            n.to_string()
        };
        let mut say = |all: Vec<Payload>| {
            for p in &all {
                ledger.write(&writer, p).unwrap();
            }
            ledger.fold()
        };
        say(add_part("bollard", "", &mut name));
        let mut job = say(add_part("cap", "", &mut name));
        for part in job.parts.keys().cloned().collect::<Vec<_>>() {
            job = say(add_castings(&job, &part, 3, &mut name));
        }
        job = say(set_up_pieces(&job, 4, 2, &mut name));
        assert_eq!(
            words(&job).unwrap(),
            "bollard 1 and cap 1 into piece 1, and 2 more pieces likewise"
        );
        // Two of one number: neither is taken, the other part's is.
        let cap = job
            .parts
            .iter()
            .find(|(_, p)| p.name.as_deref() == Some("cap"));
        let twin = CastingEdit {
            part: cap.map(|(id, _)| id.clone()),
            number: Some("K2".into()),
            ..CastingEdit::default()
        };
        job = say(edit(
            EntityRef::Casting(CastingId::new("x").unwrap()),
            &twin,
        ));
        job = say(together(&job));
        let of = |number: u32| {
            let (id, _) = job
                .pieces
                .iter()
                .find(|(_, p)| p.number == Some(number))
                .unwrap();
            job.marriages.get(id).map_or(0, |m| m.castings.len())
        };
        assert_eq!([1, 2, 3, 4].map(of), [2, 1, 2, 0]);
        assert!(by_number(&job).is_empty());
        assert_eq!(
            [count("07"), count("B7"), count("2-7")],
            [Some(7), Some(7), None]
        );
    }
}
