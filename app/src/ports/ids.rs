//! Names nobody else has.

use samespot_core::job::{JobId, ReplicaId};

fn random<const N: usize>() -> [u8; N] {
    let mut bytes = [0; N];
    let filled = web_sys::window()
        .and_then(|w| w.crypto().ok())
        .is_some_and(|c| c.get_random_values_with_u8_array(&mut bytes).is_ok());
    if !filled {
        // Pages served over plain http to another machine still have getRandomValues; this is for
        // a browser that has none at all.
        for b in &mut bytes {
            *b = byte(js_sys::Math::random() * 256.0);
        }
    }
    bytes
}

#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "0 ≤ x < 256"
)]
fn byte(x: f64) -> u8 {
    x as u8
}

/// A writer that nobody has been before.
#[must_use]
pub fn replica() -> ReplicaId {
    ReplicaId(u64::from_le_bytes(random()))
}

/// Letters and digits that nobody mistakes for one another when typing an address from a sheet.
const TYPABLE: &[u8; 32] = b"23456789abcdefghjkmnpqrstuvwxyz4";

/// A job that nobody has been before, short enough to type: 8 signs of 31, about 10¹².
#[must_use]
pub fn job() -> Option<JobId> {
    let text: String = random::<8>()
        .iter()
        .filter_map(|b| TYPABLE.get(usize::from(b % 31)).map(|c| char::from(*c)))
        .collect();
    JobId::new(&format!("q{text}")).ok()
}

/// A few letters and digits for the name of a thing, which no other window will hit on.
#[must_use]
pub fn thing() -> String {
    random::<8>()
        .iter()
        .filter_map(|b| TYPABLE.get(usize::from(b % 31)).map(|c| char::from(*c)))
        .collect()
}
