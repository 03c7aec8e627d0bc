//! Which figure goes on which base.

use super::mm;
use proptest::prelude::*;
use samespot_core::seat::{Fit, Pairing, assign, pairing};
use serde_json::Value;

#[test]
fn pairings_agree_with_scipy() {
    let cases: Value =
        serde_json::from_str(include_str!("../../reference/seat/pairs.json")).unwrap();
    let cases = cases.as_array().unwrap();
    assert_eq!(cases.len(), 80);
    for case in cases {
        let costs: Vec<Vec<Option<i64>>> = case["costs"]
            .as_array()
            .unwrap()
            .iter()
            .map(|row| row.as_array().unwrap().iter().map(Value::as_i64).collect())
            .collect();
        let found = assign(&costs).unwrap();
        assert_eq!(found.worst, case["worst"].as_i64().unwrap());
        assert_eq!(found.sum, case["sum"].as_i64().unwrap());
    }
}

/// Every order of up to five, one by one.
fn by_hand(costs: &[Vec<Option<i64>>]) -> Option<(i64, i64, Vec<usize>)> {
    fn go(
        costs: &[Vec<Option<i64>>],
        taken: &mut Vec<usize>,
        best: &mut Option<(i64, i64, Vec<usize>)>,
    ) {
        if taken.len() == costs.len() {
            let used: Vec<i64> = taken
                .iter()
                .zip(costs)
                .map(|(&j, r)| r[j].unwrap())
                .collect();
            let this = (
                *used.iter().max().unwrap(),
                used.iter().sum(),
                taken.clone(),
            );
            if best.as_ref().is_none_or(|b| this < *b) {
                *best = Some(this);
            }
            return;
        }
        for j in 0..costs[0].len() {
            if !taken.contains(&j) && costs[taken.len()][j].is_some() {
                taken.push(j);
                go(costs, taken, best);
                taken.pop();
            }
        }
    }
    let mut best = None;
    go(costs, &mut Vec::new(), &mut best);
    best
}

proptest! {
    #[test]
    fn the_best_pairing_is_the_best_of_all(
        (n, more) in (1usize..5, 0usize..3),
        values in proptest::collection::vec(proptest::option::weighted(0.9, 0i64..6), 64),
    ) {
        let costs: Vec<Vec<Option<i64>>> =
            (0..n).map(|i| (0..n + more).map(|j| values[i * 8 + j]).collect()).collect();
        let found = assign(&costs).map(|a| {
            (a.worst, a.sum, a.column.into_iter().map(Option::unwrap).collect::<Vec<_>>())
        });
        // With bases left over a free place may break ties among equals otherwise; cost is the same.
        match (found, by_hand(&costs)) {
            (Some(f), Some(b)) if more == 0 => prop_assert_eq!(f, b),
            (Some(f), Some(b)) => prop_assert_eq!((f.0, f.1), (b.0, b.1)),
            (f, b) => prop_assert_eq!(f.is_some(), b.is_some()),
        }
    }
}

fn fits(misfits: &[[f64; 3]]) -> Vec<Vec<Option<Fit>>> {
    misfits
        .iter()
        .map(|row| {
            row.iter()
                .map(|m| {
                    Some(Fit::of(
                        vec![mm(4.0 + m), mm(4.0), mm(4.0)],
                        mm(2.0),
                        mm(6.0),
                    ))
                })
                .collect()
        })
        .collect()
}

#[test]
fn any_fits_any_says_what_is_spare() {
    let table = fits(&[[0.2, 1.0, -1.4], [0.3, 0.9, 0.1], [0.0, -0.2, 1.1]]);
    assert_eq!(
        pairing(&table, mm(2.0), &[]),
        Pairing::AnyFitsAny {
            spare_um: 600,
            worst: (0, 2)
        }
    );
    // That pair locked elsewhere: it no longer counts.
    assert_eq!(
        pairing(&table, mm(2.0), &[(0, 0)]),
        Pairing::AnyFitsAny {
            spare_um: 900,
            worst: (2, 2)
        }
    );
}

#[test]
fn a_locked_pair_stays_and_does_not_loosen_the_others() {
    let table = fits(&[[3.0, 0.1, 0.1], [0.1, 0.5, 2.5], [0.1, 0.4, 0.2]]);
    match pairing(&table, mm(2.0), &[(0, 0)]) {
        Pairing::Best { assignment, inside } => {
            assert_eq!(assignment.column, [Some(0), Some(1), Some(2)]);
            assert_eq!((assignment.worst, inside), (500, true));
        }
        other => panic!("{other:?}"),
    }
    assert_eq!(pairing(&table, mm(2.0), &[(0, 0), (1, 0)]), Pairing::None);
    assert_eq!(pairing(&table, mm(2.0), &[(0, 7)]), Pairing::None);
}
