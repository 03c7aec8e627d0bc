//! What the cards mean.
#![allow(clippy::unwrap_used, reason = "a test may stop")]

use super::*;

fn answers(pairs: &[(&str, &str)]) -> Answers {
    pairs
        .iter()
        .map(|(k, v)| ((*k).to_owned(), (*v).to_owned()))
        .collect()
}

fn eye() -> Answers {
    answers(&[
        ("shape", "oval"),
        ("across", "62"),
        ("up", "4.8cm"),
        ("lies", "dome"),
        ("by", "card"),
        ("card", "14"),
        ("ab", "312"),
        ("ac", "184"),
        ("bc", "7 1/4\""),
        ("side", "above"),
        ("piece-1", "309"),
    ])
}

#[test]
fn eight_numbers_at_most_fill_the_cards() {
    let numbers = eye()
        .keys()
        .filter(|k| !matches!(k.as_str(), "shape" | "lies" | "by" | "side"))
        .count();
    assert!(numbers <= 8, "{numbers}");
    assert_eq!(filled(&cards(&eye()), 1), [true; 4]);
}

#[test]
fn cards_come_back_from_the_job_as_they_were_typed() {
    let cards = cards(&eye());
    let back = answers_of(&cards);
    for (key, value) in eye() {
        assert_eq!(back.get(&key), Some(&value), "{key}");
    }
    assert_eq!(super::cards(&back), cards);
}

#[test]
fn the_next_piece_costs_one_number() {
    let mut answers = eye();
    add_piece(&mut answers);
    assert_eq!(piece_in_hand(&answers), 2);
    assert_eq!(filled(&cards(&answers), 2), [true, true, true, false]);
    answers.insert("piece-2".into(), "314".into());
    assert_eq!(filled(&cards(&answers), 2), [true; 4]);
}

#[test]
fn a_bad_entry_blocks_nothing_but_itself() {
    let mut answers = eye();
    answers.insert("up".into(), "4.8.1".into());
    let cards = cards(&answers);
    assert_eq!(filled(&cards, 1), [false, true, true, true]);
    assert_eq!(text(&answers, "up"), "4.8.1");
}

#[test]
fn lengths_that_cannot_meet_keep_the_card_open_and_say_which() {
    let mut answers = eye();
    answers.insert("ac".into(), "50".into());
    answers.insert("bc".into(), "50".into());
    assert_eq!(filled(&cards(&answers), 1), [true, true, false, true]);
    let why = cannot_meet(&cards(&answers)).unwrap();
    assert!(why.starts_with("A to B is 312 mm"), "{why}");
    answers.insert("ac".into(), "600".into());
    let why = cannot_meet(&cards(&answers)).unwrap();
    assert!(why.starts_with("A to the centre is 600 mm"), "{why}");
    // In one line they can be, and a slack tape's millimetre out of it.
    answers.insert("ac".into(), "263".into());
    answers.insert("bc".into(), "48".into());
    assert_eq!(cannot_meet(&cards(&answers)), None);
}

#[test]
fn nothing_is_0_long() {
    for key in [
        "across", "up", "ab", "ac", "bc", "piece-1", "within", "thick",
    ] {
        let mut answers = eye();
        for zero in ["0", "0 mm", "0.0", "0 in"] {
            answers.insert(key.into(), zero.into());
            let Heard::Refused(why) = heard(&answers, key) else {
                unreachable!("{key} {zero}: {:?}", heard(&answers, key))
            };
            assert!(why.contains("Nothing can be 0 long"), "{why}");
        }
        answers.insert(key.into(), "0.5".into());
        assert!(entry(&answers, key).is_some(), "{key}");
    }
}

#[test]
fn an_answered_question_stays_answered() {
    let mut answers = eye();
    answers.insert("across".into(), "1-3/4".into());
    assert!(cards(&answers).outline.is_none());
    answers.insert("across?".into(), "0".into());
    let cards = cards(&answers);
    assert!(cards.outline.is_some());
    assert_eq!(
        answers_of(&cards).get("across?").map(String::as_str),
        Some("0")
    );
}

#[test]
fn there_is_a_picture_before_the_piece_in_hand_is_measured() {
    let mut answers = eye();
    answers.remove("piece-1");
    answers.remove("side");
    answers.remove("lies");
    let (shown, real) = for_picture(&cards(&answers), 1).unwrap();
    assert!(shown.ready(1) && real);
    answers.remove("bc");
    let (shown, real) = for_picture(&cards(&answers), 1).unwrap();
    assert!(shown.ready(1) && !real);
    answers.remove("across");
    assert_eq!(for_picture(&cards(&answers), 1), None);
}

#[test]
fn round_differently_each_way_asks_for_a_second_gauge_and_comes_back_as_typed() {
    let mut answers = eye();
    answers.insert("other".into(), "hollow".into());
    assert_eq!(filled(&cards(&answers), 1), [true, false, true, true]);
    answers.insert("by-up".into(), "edge".into());
    answers.insert("edge-up".into(), "300".into());
    answers.insert("gap-up".into(), "12".into());
    let saddle = cards(&answers);
    assert_eq!(filled(&saddle, 1), [true; 4]);
    let back = answers_of(&saddle);
    for (key, value) in &answers {
        assert_eq!(back.get(key), Some(value), "{key}");
    }
    answers.insert("other".into(), "alike".into());
    assert_eq!(cards(&answers).lies_on, cards(&eye()).lies_on);
}
