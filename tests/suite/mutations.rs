//! Every reader on damaged inputs: those that once were trouble (`corpora`), and some hundred made from
//! good ones by number. None panics, none refuses without a word, and twice comes to the same.
#![allow(clippy::unwrap_used, clippy::panic, reason = "a test may stop")]

use samespot_tests::mutation::Chance;
use samespot_tests::mutation::readers::all;

/// So many for each reader; `cargo run --bin mutations` goes on from there for as long as one likes.
const SOME: u64 = 300;
/// Pictures take longer, and so does a stencil of each.
const SOME_PICTURES: u64 = 25;
const SOME_STENCILS: u64 = 60;

#[test]
fn what_once_was_trouble_is_none_any_more() {
    for reader in all() {
        for (name, input) in reader.kept() {
            let came = std::panic::catch_unwind(|| (reader.read)(&input));
            assert!(came.is_ok(), "{} {name} panics", reader.name);
        }
    }
}

#[test]
fn damaged_inputs_are_read_or_refused_in_words_and_twice_the_same() {
    for reader in all() {
        let seeds = reader.seeds();
        assert!(!seeds.is_empty(), "{} has nothing to damage", reader.name);
        let most = match reader.name {
            "photo" | "sheet" => SOME_PICTURES,
            "outline" | "patch" => SOME_STENCILS,
            _ => SOME,
        };
        let (mut read, mut refused) = (0, 0);
        for number in 0..most {
            let mut chance = Chance::of(number);
            let whole = chance.of_all(&seeds).unwrap();
            let input = (reader.damaged)(whole, &mut chance);
            let both = [(reader.read)(&input), (reader.read)(&input)];
            assert_eq!(both[0], both[1], "{} {number}", reader.name);
            match &both[0] {
                Ok(()) => read += 1,
                Err(_) => refused += 1,
            }
        }
        // Damage that nothing survives, or that nobody notices, tests nothing.
        assert!(
            read > 0 && refused > 0,
            "{}: {read} read, {refused} refused",
            reader.name
        );
    }
}

/// Whole inputs are read: what is damaged was good.
#[test]
fn what_is_damaged_was_good() {
    for reader in all() {
        for (n, seed) in reader.seeds().iter().enumerate() {
            let came = (reader.read)(seed);
            // Tables ask back, and artwork asks how large it is.
            let asks = ["table", "artwork"].contains(&reader.name);
            assert!(came.is_ok() || asks, "{} {n}: {came:?}", reader.name);
        }
    }
}
