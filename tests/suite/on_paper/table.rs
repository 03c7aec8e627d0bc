//! How many templates each feature of both examples takes at four tolerances, and on how many pieces the
//! drawing's own stencil would have done: kept as a table (`tests/golden/fewest-templates.md`), and counted
//! again here by hand from what each template leaves on each piece.

use super::EXAMPLES;
use samespot_core::job::{Job, PieceId, SheetOf};
use samespot_core::prepare::{Source, fewest_templates, prepare_sheet, sheet_title};
use samespot_core::read::job::open;
use samespot_core::units::Length;
use std::collections::BTreeSet;
use std::fmt::Write;

const TOLERANCES_MM: [f64; 4] = [1.0, 1.5, 2.0, 3.0];

/// One row: the name, then for each tolerance the templates, the pieces no template brings within it, and the
/// pieces on which the drawing's own lands within it; the furthest that lands off.
fn row(source: &Source<'_>, of: &SheetOf) -> Option<String> {
    let job = source.job;
    let pieces: Vec<PieceId> = (job.pieces_in_order().into_iter())
        .map(|(id, _)| id.clone())
        .collect();
    let nominal: Vec<f64> = pieces
        .iter()
        .filter_map(|p| prepare_sheet(source, of, p).ok())
        .map(|p| p.nominal_lands.0.norm_mm())
        .collect();
    let furthest = nominal.iter().copied().fold(0.0, f64::max);
    let mut row = format!("| {} | {} ", sheet_title(job, of), nominal.len());
    let mut before: Option<usize> = None;
    for mm in TOLERANCES_MM {
        let allowed = Length::from_mm(mm);
        let found = fewest_templates(source, of, Some(allowed)).ok()?;
        let (mut served, mut beyond) = (BTreeSet::new(), 0);
        for template in &found.templates {
            for (piece, left) in &template.serves {
                assert!(served.insert(piece.clone()), "{piece} has two templates");
                let over = left.worst.mm() > mm + 0.0015;
                assert!(
                    !over || template.serves.len() == 1,
                    "{of:?}: a shared one is {left:?}"
                );
                beyond += usize::from(over);
            }
        }
        assert_eq!(served.len() + found.without.len(), pieces.len(), "{of:?}");
        assert_eq!(served.len(), nominal.len(), "{of:?}");
        let count = found.templates.len();
        assert!(found.at_least <= count);
        // What is allowed more never takes more.
        assert!(before.is_none_or(|b| count <= b), "{of:?}: {count} at {mm}");
        before = Some(count);
        let does = nominal.iter().filter(|n| **n <= mm).count();
        let least = if found.at_least == count {
            String::new()
        } else {
            format!(" (at least {})", found.at_least)
        };
        let over = if beyond == 0 {
            String::new()
        } else {
            format!(", {beyond} over")
        };
        let _ = write!(row, "| {count}{least}{over}; {does} ");
    }
    let _ = writeln!(row, "| {furthest:.1} |");
    Some(row)
}

#[test]
fn the_templates_each_feature_takes_at_four_tolerances() {
    let mut table = String::new();
    for (name, file) in EXAMPLES {
        let opened = open(file).unwrap();
        let job = Job::fold(&opened.ledger);
        let source = Source {
            job: &job,
            attachments: &opened.attachments,
        };
        let _ = writeln!(
            table,
            "## {name} (invented), {} pieces\n\n| | read | 1.0 mm | 1.5 mm | 2.0 mm | 3.0 mm | the drawing’s own, at worst mm |\n|---|---|---|---|---|---|---|",
            job.pieces.len()
        );
        let features = job.features_in_order().into_iter();
        let sheets = (features.map(|(id, _)| SheetOf::Feature(id.clone())))
            .chain(job.fixings.keys().map(|f| SheetOf::Jig(f.clone())));
        for of in sheets {
            table.push_str(&row(&source, &of).unwrap_or_default());
        }
        table.push('\n');
    }
    println!("{table}");
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/golden/fewest-templates.md");
    if std::env::var_os("SAMESPOT_BLESS").is_some() {
        std::fs::write(path, &table).unwrap();
    }
    assert_eq!(std::fs::read_to_string(path).unwrap_or_default(), table);
}
