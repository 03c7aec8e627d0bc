//! The order of the walk: one instrument at a time, face by face, each reading from where the
//! last one ended.

use crate::job::{Measured, PointRef};

/// Where a face stands on the way round: front, the figure's left, back, the figure's right; then
/// the rest. (Anticlockwise seen from above, as one walks with the work on the left hand.)
pub(super) fn round(seen_from: Option<&str>) -> usize {
    const WAY: [&str; 4] = ["front", "left", "back", "right"];
    let said = seen_from
        .unwrap_or("")
        .to_lowercase()
        .replace("behind", "back");
    // What is said of two sides is said of the one that shows more first.
    let first = |w: &str| said.find(w);
    let found = WAY
        .iter()
        .enumerate()
        .filter_map(|(k, w)| Some((first(w)?, k)));
    found.min().map_or(WAY.len(), |(_, k)| k)
}

pub(super) fn ends(of: &Measured) -> Option<(&PointRef, &PointRef)> {
    match of {
        Measured::Straight { from, to } | Measured::Over { from, to } => Some((from, to)),
        _ => None,
    }
}

/// The same reading from its other end.
pub(super) fn turned(of: &Measured) -> Measured {
    match of.clone() {
        Measured::Straight { from, to } => Measured::Straight { from: to, to: from },
        Measured::Over { from, to } => Measured::Over { from: to, to: from },
        other => other,
    }
}

/// Whether two readings are of the same thing, from whichever end.
pub(super) fn same(a: &Measured, b: &Measured) -> bool {
    a == b || turned(a) == *b
}

/// One chain from a start: which reading, and whether turned; and how often the tape has to be
/// carried to another mark.
fn chain(asks: &[Measured], first: usize, turn: bool) -> (usize, Vec<Measured>) {
    let mut left: Vec<usize> = (0..asks.len()).filter(|k| *k != first).collect();
    let begin = asks.get(first).cloned();
    let mut out: Vec<Measured> = begin
        .map(|a| if turn { turned(&a) } else { a })
        .into_iter()
        .collect();
    let mut carried = 0;
    while !left.is_empty() {
        let at = out.last().and_then(ends).map(|e| e.1.clone());
        let last = out.last().cloned();
        let goes_on = |k: &usize| {
            let ask = asks.get(*k)?;
            let (from, to) = ends(ask)?;
            let here = at.as_ref()?;
            // Laying the same length twice running would only repeat the mistake.
            if last.as_ref().is_some_and(|l| same(l, ask)) {
                return None;
            }
            if from == here {
                Some(ask.clone())
            } else if to == here {
                Some(turned(ask))
            } else {
                None
            }
        };
        let next = left
            .iter()
            .enumerate()
            .find_map(|(n, k)| goes_on(k).map(|ask| (n, ask)));
        let (n, ask) = match next {
            Some(found) => found,
            None => {
                carried += 1;
                let Some(ask) = left.first().and_then(|k| asks.get(*k)).cloned() else {
                    break;
                };
                (0, ask)
            }
        };
        left.remove(n);
        out.push(ask);
    }
    (carried, out)
}

/// The readings of one face with one instrument in the order that carries the tape least; the
/// first of equals.
pub(super) fn along(asks: &[Measured]) -> Vec<Measured> {
    let mut best: Option<(usize, Vec<Measured>)> = None;
    for first in 0..asks.len() {
        for turn in [false, true] {
            let tried = chain(asks, first, turn);
            if best.as_ref().is_none_or(|b| tried.0 < b.0) {
                best = Some(tried);
            }
        }
    }
    best.map(|b| b.1).unwrap_or_default()
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::job::MarkId;

    fn over(from: &str, to: &str) -> Measured {
        let mark = |m: &str| PointRef::Mark(MarkId::new(m).unwrap());
        Measured::Over {
            from: mark(from),
            to: mark(to),
        }
    }

    #[test]
    fn each_reading_starts_where_the_last_one_ended() {
        let walk = along(&[over("a", "b"), over("a", "c"), over("b", "c")]);
        assert_eq!(walk, [over("a", "b"), over("b", "c"), over("c", "a")]);
    }

    #[test]
    fn a_repeat_is_not_laid_straight_after_its_first() {
        let asks = [
            over("a", "b"),
            over("a", "b"),
            over("b", "c"),
            over("c", "a"),
        ];
        let walk = along(&asks);
        assert_eq!(walk.len(), 4);
        assert!(walk.windows(2).all(|w| !same(&w[0], &w[1])), "{walk:?}");
    }

    #[test]
    fn faces_stand_round_the_casting() {
        let order: Vec<usize> = [
            "from the front",
            "from the figure's left",
            "from behind",
            "from the figure's right",
            "from above",
            "from the back and the figure's left",
        ]
        .iter()
        .map(|f| round(Some(f)))
        .collect();
        assert_eq!(order, [0, 1, 2, 3, 4, 2]);
    }
}
