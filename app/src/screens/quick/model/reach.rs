//! Whether three lengths can be of two marks and a spot at all.

use crate::say::numbers::size;
use samespot_core::job::QuickCards;

/// What rounding and a slack tape leave: a hundredth of the longest (common practice, no source).
const SLACK: f64 = 0.01;

/// Why the three lengths make no triangle: one of them is longer than the other two together, which holds
/// straight and over a face alike. Nothing where they do, or where one is still missing.
#[must_use]
pub fn cannot_meet(cards: &QuickCards) -> Option<String> {
    let ab = cards.a_to_b.as_ref()?.mm;
    let ac = cards.a_to_centre.as_ref()?.mm;
    let bc = cards.b_to_centre.as_ref()?.mm;
    let named = [
        ("A to B", ab),
        ("A to the centre", ac),
        ("B to the centre", bc),
    ];
    let sum: f64 = named.iter().map(|n| n.1.mm()).sum();
    let (name, longest) = named
        .into_iter()
        .fold(named[0], |most, n| if n.1 > most.1 { n } else { most });
    let others = sum - longest.mm();
    (longest.mm() * (1.0 - SLACK) > others).then(|| {
        format!(
            "{name} is {} mm, more than the other two together ({} mm): they can’t meet. Read the three again",
            size(longest),
            size(samespot_core::units::Length::from_mm(others))
        )
    })
}
