//! What the record of the run says of all pieces together: steps and drift, room inside the limits,
//! left against right, shrinkage with age.

use super::Source;
use super::run_checks::{FeatureStands, Mark, overview};
use crate::sheet::Block;

/// One table under a heading of its own; nothing where the run says nothing yet.
pub(super) fn run_blocks(source: &Source<'_>) -> Vec<Block> {
    let over = overview(source);
    let of_features = (over.features.iter())
        .filter(|f| !f.says.is_empty())
        .map(|f| [f.title.clone(), stands(f), f.says.join(". ")]);
    let of_pairs = (over.pairs.iter()).map(|p| {
        let on = format!("{} pieces", p.count);
        [p.title.clone(), on, p.says.clone()]
    });
    let of_castings = (over.shrinkage.iter())
        .filter(|s| !s.says.is_empty())
        .map(|s| {
            let on = match s.castings {
                1 => "1 casting".to_owned(),
                n => format!("{n} castings"),
            };
            [s.title.clone(), on, s.says.join(". ")]
        });
    let rows: Vec<Vec<String>> = of_features
        .chain(of_pairs)
        .chain(of_castings)
        .map(Vec::from)
        .collect();
    if rows.is_empty() {
        return Vec::new();
    }
    vec![
        Block::Heading("The run".to_owned()),
        Block::Table {
            columns: [
                ("of", 3.4),
                ("on", 3.0),
                ("what it does over the run", 10.0),
            ]
            .map(|(n, s)| (n.to_owned(), s))
            .to_vec(),
            rows,
        },
    ]
}

/// *16 within, 1 outside, 1 to check*.
fn stands(feature: &FeatureStands) -> String {
    [
        Mark::Within,
        Mark::LetStand,
        Mark::CantTell,
        Mark::Outside,
        Mark::ToCheck,
        Mark::NotMade,
    ]
    .into_iter()
    .map(|mark| (feature.count(mark), mark.word()))
    .filter(|(count, _)| *count > 0)
    .map(|(count, word)| format!("{count} {word}"))
    .collect::<Vec<_>>()
    .join(", ")
}
