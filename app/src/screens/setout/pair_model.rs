//! What is said when two features are made a pair: facts, from the job and what was chosen.

use super::model::marks;
use crate::screens::job::model::edit;
use samespot_core::job::{
    EntityRef, FaceId, FeatureEdit, FeatureId, Hand, Job, MarkId, Mirror, PairEdit, PairId,
    Payload, Removal,
};
use samespot_core::prepare::feature_title;
use samespot_core::units::Length;

/// How far a pair may be out until somebody says otherwise: level, apart, equal either side, mm.
const USUAL_MM: [f64; 3] = [2.0, 3.0, 2.0];

/// The other hand.
pub fn other(hand: Hand) -> Hand {
    match hand {
        Hand::Left => Hand::Right,
        Hand::Right => Hand::Left,
    }
}

/// What the other one would be called: *eye, right*.
pub fn other_title(of: &FeatureEdit) -> Option<String> {
    let hand = Some(other(of.hand?));
    Some(feature_title(&FeatureEdit { hand, ..of.clone() }))
}

/// The two marks a feature follows, which it is mirrored about until others are chosen.
pub fn followed(of: &FeatureEdit) -> Option<[MarkId; 2]> {
    let ends = of.rule.as_ref()?.turns_with()?;
    Some(ends.map(Clone::clone))
}

/// A feature of the other hand and the same name that is in no pair yet.
pub fn waiting(job: &Job, id: &FeatureId) -> Option<FeatureId> {
    let of = job.features.get(id)?;
    let hand = other(of.hand?);
    let name = |f: &FeatureEdit| f.name.as_deref().unwrap_or_default().trim().to_lowercase();
    job.features
        .iter()
        .find(|(k, f)| {
            *k != id && f.hand == Some(hand) && name(f) == name(of) && job.pair_of(k).is_none()
        })
        .map(|(k, _)| k.clone())
}

/// Across what, once everything is chosen; `None` while something is not.
pub fn mirror(how: &str, [from, to]: [MarkId; 2], twins: [Option<MarkId>; 2]) -> Option<Mirror> {
    if from == to {
        return None;
    }
    match how {
        "halfway" => Some(Mirror::Halfway { from, to }),
        "through" => Some(Mirror::Through { from, to }),
        "twins" => {
            let [Some(from_twin), Some(to_twin)] = twins else {
                return None;
            };
            (from_twin != to_twin).then_some(Mirror::Twins {
                from,
                to,
                from_twin,
                to_twin,
            })
        }
        _ => None,
    }
}

fn pair(of: &FeatureEdit, one: &FeatureId, other: &FeatureId) -> PairEdit {
    let [level, apart, equal] = USUAL_MM.map(|mm| Some(Length::from_mm(mm)));
    let (left, right) = match of.hand {
        Some(Hand::Right) => (other, one),
        _ => (one, other),
    };
    PairEdit {
        name: of.name.clone(),
        left: Some(left.clone()),
        right: Some(right.clone()),
        level,
        apart,
        equal,
        ..PairEdit::default()
    }
}

/// Two features that are there become a pair.
pub fn make_pair(
    job: &Job,
    one: &FeatureId,
    other: &FeatureId,
    name: &mut dyn FnMut() -> String,
) -> Option<Vec<Payload>> {
    let id = PairId::new(&format!("pair{}", name())).ok()?;
    let of = job.features.get(one)?;
    Some(edit(EntityRef::Pair(id), &pair(of, one, other)))
}

/// The other one of a pair, made by mirroring; one that is there already becomes the image.
pub fn make_other(
    job: &Job,
    one: &FeatureId,
    across: Mirror,
    face: &FaceId,
    name: &mut dyn FnMut() -> String,
) -> Option<(FeatureId, Vec<Payload>)> {
    let of = job.features.get(one)?;
    let made = other(of.hand?);
    let (pair_id, there) = match job.pair_of(one) {
        Some((id, pair)) => {
            let there = if made == Hand::Left {
                &pair.left
            } else {
                &pair.right
            };
            (id.clone(), there.clone())
        }
        None => (
            PairId::new(&format!("pair{}", name())).ok()?,
            waiting(job, one),
        ),
    };
    let mut all = Vec::new();
    let image = match there {
        Some(there) => there,
        None => {
            let id = FeatureId::new(&format!("s{}", name())).ok()?;
            all.extend(edit(
                EntityRef::Feature(id.clone()),
                &FeatureEdit {
                    face: Some(face.clone()),
                    name: of.name.clone(),
                    hand: Some(made),
                    ..FeatureEdit::default()
                },
            ));
            id
        }
    };
    let linked = PairEdit {
        mirror: Some(across),
        made: Some(made),
        ..if job.pairs.contains_key(&pair_id) {
            PairEdit::default()
        } else {
            pair(of, one, &image)
        }
    };
    all.extend(edit(EntityRef::Pair(pair_id), &linked));
    Some((image, all))
}

/// An image goes its own way: it keeps what it has, and wants readings of its own.
pub fn unlink(
    job: &Job,
    image: &FeatureId,
    name: &mut dyn FnMut() -> String,
) -> Option<Vec<Payload>> {
    let made = job.made_from(image)?;
    let own = job.features.get(image)?;
    let mut all = edit(EntityRef::Feature(image.clone()), own);
    let was = job.pairs.get(made.pair)?;
    all.push(Payload::Remove(Removal {
        entity: EntityRef::Pair(made.pair.clone()),
    }));
    let id = PairId::new(&format!("pair{}", name())).ok()?;
    all.extend(edit(
        EntityRef::Pair(id),
        &PairEdit {
            mirror: None,
            made: None,
            ..was.clone()
        },
    ));
    Some(all)
}

/// Faces the other one may be on: all but its own that have two marks.
pub fn other_faces(job: &Job, own: &FaceId) -> Vec<(FaceId, String)> {
    super::model::faces(job)
        .into_iter()
        .filter(|(id, _)| id != own && marks(job, id).len() >= 2)
        .collect()
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    fn m(name: &str) -> MarkId {
        MarkId::new(name).unwrap()
    }

    #[test]
    fn nothing_is_mirrored_until_every_mark_is_chosen() {
        let two = || [m("a"), m("b")];
        assert_eq!(mirror("", two(), [None, None]), None);
        assert_eq!(mirror("twins", two(), [Some(m("c")), None]), None);
        assert_eq!(mirror("twins", two(), [Some(m("c")), Some(m("c"))]), None);
        assert_eq!(mirror("halfway", [m("a"), m("a")], [None, None]), None);
        assert_eq!(
            mirror("halfway", two(), [None, None]),
            Some(Mirror::Halfway {
                from: m("a"),
                to: m("b")
            })
        );
    }

    #[test]
    fn the_other_one_has_the_other_hand() {
        let eye = FeatureEdit {
            name: Some("eye".into()),
            hand: Some(Hand::Left),
            ..FeatureEdit::default()
        };
        assert_eq!(other_title(&eye).as_deref(), Some("eye, right"));
        let (one, two) = (FeatureId::new("l").unwrap(), FeatureId::new("r").unwrap());
        let made = pair(&eye, &one, &two);
        assert_eq!((made.left, made.right), (Some(one), Some(two)));
    }
}
