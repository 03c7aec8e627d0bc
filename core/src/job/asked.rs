//! What one question has worked out of a job, so that it is worked out once.
//!
//! A run looked over asks the same of the pattern for every piece. Whoever answers questions begins
//! anew with each of them ([`Asked::begin`]); as long as one lasts the job can't change, because the
//! answer borrows it. Outside of a question, and in a copy of a job, nothing is known.

use super::ids::{CastingId, FaceId};
use core::any::Any;
use core::fmt;
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex};

type Key = (FaceId, CastingId);
type Worked = Arc<dyn Any + Send + Sync>;

#[derive(Default)]
struct Answers {
    of_faces: BTreeMap<Key, Worked>,
    /// What was worked out of something else than the job, each with what it came to.
    of_others: Vec<Worked>,
}

/// What one question has worked out.
#[derive(Default)]
pub struct Asked(Option<Mutex<Answers>>);

impl Asked {
    /// A question begins: nothing is known yet.
    pub(crate) fn begin(&mut self) {
        self.0 = Some(Mutex::default());
    }

    /// The answer to something about a face of a casting, from before where this question has worked
    /// it out already. There is one kind of answer to a face of a casting.
    pub(crate) fn once<T>(&self, face: &FaceId, casting: &CastingId, work: impl FnOnce() -> T) -> T
    where
        T: Clone + Send + Sync + 'static,
    {
        let Some(answers) = &self.0 else {
            return work();
        };
        let key = (face.clone(), casting.clone());
        let known = answers
            .lock()
            .ok()
            .and_then(|all| all.of_faces.get(&key).cloned());
        if let Some(known) = known.as_ref().and_then(|k| k.downcast_ref::<T>()) {
            return known.clone();
        }
        // Not while it is locked: two that need the same at once both work it out, to the same end.
        let new = work();
        if let Ok(mut all) = answers.lock() {
            all.of_faces.insert(key, Arc::new(new.clone()));
        }
        new
    }

    /// What comes of something, from before where this question has worked it out of the same: what is
    /// cut is the same outline on every piece.
    pub(crate) fn alike<K, T>(&self, of: K, work: impl FnOnce(&K) -> T) -> T
    where
        K: PartialEq + Send + Sync + 'static,
        T: Clone + Send + Sync + 'static,
    {
        let Some(answers) = &self.0 else {
            return work(&of);
        };
        let all = answers.lock().map(|all| all.of_others.clone());
        let mut all = all.iter().flatten();
        let known = all.find_map(|known| {
            let (key, answer) = known.downcast_ref::<(K, T)>()?;
            (*key == of).then(|| answer.clone())
        });
        known.unwrap_or_else(|| {
            let new = work(&of);
            if let Ok(mut all) = answers.lock() {
                all.of_others.push(Arc::new((of, new.clone())));
            }
            new
        })
    }
}

/// A copy may be changed: it knows nothing.
impl Clone for Asked {
    fn clone(&self) -> Self {
        Self::default()
    }
}

/// What was worked out of it makes no job another.
impl PartialEq for Asked {
    fn eq(&self, _: &Self) -> bool {
        true
    }
}

impl fmt::Debug for Asked {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Asked")
    }
}

#[cfg(test)]
#[allow(
    clippy::unwrap_used,
    clippy::float_cmp,
    reason = "tests; halves are exact"
)]
mod tests {
    use super::*;
    use core::cell::Cell;

    #[test]
    fn it_is_worked_out_once_a_question_and_in_no_copy() {
        let (face, casting) = (FaceId::new("f").unwrap(), CastingId::new("c").unwrap());
        let worked = Cell::new(0);
        let ask = |asked: &Asked| {
            asked.once(&face, &casting, || {
                worked.set(worked.get() + 1);
                worked.get()
            })
        };
        let mut asked = Asked::default();
        assert_eq!((ask(&asked), ask(&asked)), (1, 2));
        asked.begin();
        assert_eq!((ask(&asked), ask(&asked)), (3, 3));
        assert_eq!(ask(&asked.clone()), 4);
        asked.begin();
        assert_eq!((ask(&asked), ask(&asked)), (5, 5));
    }

    #[test]
    fn what_is_alike_is_worked_out_once_a_question() {
        let worked = Cell::new(0);
        let mut asked = Asked::default();
        let half = |asked: &Asked, n: f64| {
            asked.alike(n, |n| {
                worked.set(worked.get() + 1);
                n / 2.0
            })
        };
        assert_eq!(half(&asked, 3.0) + half(&asked, 3.0), 3.0);
        assert_eq!(worked.take(), 2);
        asked.begin();
        assert_eq!(half(&asked, 3.0) + half(&asked, 3.0), 3.0);
        assert_eq!(half(&asked, 4.0), 2.0);
        assert_eq!(worked.take(), 2);
        // Another kind of answer to the same.
        assert_eq!(asked.alike(3.0, |n| n.to_string()), "3");
    }
}
