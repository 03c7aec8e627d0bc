//! What shows only over the run, and what a section of the mould did, against what was planted.

use super::World;
use samespot_core::job::*;
use samespot_core::prepare::Source;
use samespot_core::prepare::walk::{Pooled, pooled};
use samespot_core::write::job::Attachments;

fn over_run(world: &World) -> Vec<Pooled> {
    let job = world.ledger.fold();
    pooled(&Source {
        job: &job,
        attachments: &Attachments::default(),
    })
}

fn hooks(all: &[Pooled]) -> Vec<&Pooled> {
    all.iter()
        .filter(|p| p.says.contains("check its hook"))
        .collect()
}

#[test]
fn the_bent_hook_of_castings_13_to_15_is_suspected() {
    // reference/quay-puffins/truth.json, faults: every hooked reading of the pocket tape on
    // castings 13 to 15 is 1.4 mm long.
    let all = over_run(&World::new());
    let hooks = hooks(&all);
    assert_eq!(hooks.len(), 1, "{all:#?}");
    let said = &hooks[0].says;
    assert!(
        said.starts_with("Readings 13–15 with Pocket tape, 5 m are all about 1"),
        "{said}"
    );
    assert!(said.contains("mm long"), "{said}");
    let by: f64 = said
        .split("about ")
        .nth(1)
        .unwrap()
        .split(' ')
        .next()
        .unwrap()
        .parse()
        .unwrap();
    assert!((by - 1.4).abs() < 0.5, "{said}");
    let castings: Vec<&str> = hooks[0].castings.iter().map(CastingId::as_str).collect();
    assert!(
        castings.contains(&"puffin-14") && castings.contains(&"bollard-15"),
        "{castings:?}"
    );
    assert!(!castings.contains(&"puffin-12"));
}

/// Evenly between −1 and 1 (xorshift64*; Vigna 2016).
fn even(seed: &mut u64) -> f64 {
    *seed ^= *seed >> 12;
    *seed ^= *seed << 25;
    *seed ^= *seed >> 27;
    let top = seed.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 11;
    2.0 * (top as f64) / ((1_u64 << 53) as f64) - 1.0
}

#[test]
fn a_good_hook_is_not_accused() {
    // The same run with the planted 1.4 mm taken off again, each hooked reading strewn anew by
    // half a millimetre either way (0.29 mm one standard deviation, rounded as read).
    for turn in 1..=6_u64 {
        let mut world = World::new();
        let mut seed = 0x9E37_79B9_7F4A_7C15_u64.wrapping_mul(turn);
        let job = world.ledger.fold();
        for r in &job.readings {
            if !r.says.hooked {
                continue;
            }
            let number = r.says.casting.as_str().rsplit('-').next().unwrap();
            let bent = ["13", "14", "15"].contains(&number);
            let mm = r.says.value.mm.mm() - if bent { 1.4 } else { 0.0 } + 0.5 * even(&mut seed);
            world.say(&Payload::Correct(Correction {
                target: r.id,
                value: Entry::of_mm((mm * 2.0).round() / 2.0),
                reason: "simulated".into(),
            }));
        }
        let all = over_run(&world);
        assert!(hooks(&all).is_empty(), "turn {turn}: {all:#?}");
    }
}

#[test]
fn a_section_that_sits_low_is_told_from_a_slip() {
    // B of the bollard is cast in the other half. Read 4 mm nearer to C by both tapes (and as far
    // from A) it lies higher; no reading is wrong, and none may be accused.
    let mut world = World::new();
    let job = world.ledger.fold();
    for r in &job.readings {
        if r.says.casting.as_str() != "bollard-10" {
            continue;
        }
        let text = format!("{:?}", r.says.of);
        let b_to_c = text.contains("-b\"") && text.contains("-c\"");
        if b_to_c {
            world.say(&Payload::Correct(Correction {
                target: r.id,
                value: Entry::of_mm(r.says.value.mm.mm() - 4.0),
                reason: "simulated".into(),
            }));
        }
    }
    let walk = world.walk("bollard-10");
    assert!(
        walk.odd.is_none() && walk.unsettled.is_none(),
        "{:?}",
        walk.odd
    );
    let said = walk.says.iter().find(|s| s.contains("at the seam"));
    let said = said.unwrap_or_else(|| panic!("{:?}", walk.says));
    assert!(said.contains("high") && said.contains("no slip"), "{said}");
    // A slip in one of the two is no shift: both tapes would have to agree.
    let slip = World::new().walk("puffin-11");
    assert!(!slip.says.iter().any(|s| s.contains("at the seam")));
    assert_eq!(
        slip.odd.unwrap().slip.as_deref(),
        Some("Was it misread by 10 mm?")
    );
}
