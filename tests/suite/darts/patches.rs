//! An outline in patches: each patch's sheet read back from its SVG and laid on the ball by its own
//! crosses. Does its part of the outline land on the true one within what is said, and do the parts
//! together make the whole?
//!
//! Outside values: as for one sheet (the spherical law of cosines and trilateration); the true outline
//! is the oval about its spot by azimuthal distances (Snyder 1987, eq. 25-1 ff.).

use super::*;
use samespot_core::job::SheetOf;
use samespot_core::prepare::PrepareError;

/// The marks by letter, on the ball.
pub(super) fn marks_on_ball(made: &Issued, r: f64) -> Vec<(String, V)> {
    let prepared = &made.prepared;
    let marks = prepared.crosses.iter().zip(&prepared.placed.marks);
    marks
        .map(|(c, m)| (c.letter.clone(), on_ball(r, (m.x_mm(), m.y_mm()))))
        .collect()
}

pub(super) fn in_patches(job: &Job) -> Result<Issued, PrepareError> {
    let source = Source {
        job,
        attachments: &Attachments::new(),
    };
    let spot = QuickIds::fixed().unwrap().spot;
    let piece = QuickIds::piece(1).unwrap().1;
    issue(
        &source,
        SheetOf::Patches(spot),
        &piece,
        Paper::A3,
        "2026-11-27",
    )
}

/// Points of a patch's part of the outline, its crosses, its joins with their ends.
pub(super) struct Part {
    pub(super) outline: Vec<Vec<P>>,
    pub(super) cuts: Vec<Vec<P>>,
    pub(super) crosses: Vec<(String, P)>,
    pub(super) joins: Vec<(String, Vec<P>)>,
}

pub(super) fn part(svg: &str) -> Part {
    let doc = roxmltree::Document::parse(svg).unwrap();
    let line = |d: &str| corners(d).into_iter().map(|c| c.0).collect::<Vec<P>>();
    let lines = |node| paths(node).iter().map(|d| line(d)).collect();
    let outline = lines(group(&doc, "paint-edge"));
    let opening = |n: &roxmltree::Node<'_, '_>| n.attribute("id") == Some("cut-opening");
    let cuts = doc.descendants().find(opening).map_or(Vec::new(), lines);
    let mut crosses = Vec::new();
    for n in group(&doc, "register-cross").descendants() {
        if let (Some(x), Some(y), Some(title)) = (
            n.attribute("cx"),
            n.attribute("cy"),
            n.children().find(|c| c.has_tag_name("title")),
        ) {
            let at = (x.parse().unwrap(), -y.parse::<f64>().unwrap());
            crosses.push((title.text().unwrap().to_owned(), at));
        }
    }
    let joins = group(&doc, "join")
        .descendants()
        .filter_map(|n| {
            let title = n.children().find(|c| c.has_tag_name("title"))?;
            Some((title.text()?.to_owned(), line(n.attribute("d")?)))
        })
        .collect();
    Part {
        outline,
        cuts,
        crosses,
        joins,
    }
}

/// Where a place of a patch comes to lie: from its crosses, near a place of the true outline.
pub(super) fn lands_at(r: f64, part: &Part, marks: &[(String, V)], truth: &[V], p: P) -> V {
    let held: Vec<(V, f64)> = part
        .crosses
        .iter()
        .map(|(name, at)| {
            let letter = name.split_whitespace().last().unwrap();
            let mark = marks.iter().find(|(l, _)| l == letter).unwrap();
            (mark.1, length(minus(*at, p)))
        })
        .collect();
    let misfit = |v: &V| -> f64 {
        held.iter()
            .map(|(m, mm)| (great(r, *m, *v) - mm).powi(2))
            .sum()
    };
    let near = truth
        .iter()
        .min_by(|a, b| misfit(a).total_cmp(&misfit(b)))
        .unwrap();
    located(r, &held, *near)
}

/// A join by its symbol and the two that meet there: *● patch 1 meets patch 2*.
fn which(label: &str) -> String {
    let mut words: Vec<&str> = label.split_whitespace().collect();
    words.retain(|w| *w != "patch" && *w != "meets");
    words.sort_unstable();
    words.join(" ")
}

#[test]
fn patches_laid_on_their_own_marks_make_the_whole_outline() {
    let size = [112.0, 92.0];
    let places = [(-105.0, -55.0), (95.0, -65.0), (11.0, 110.0)];
    let job = three_marks(150.0, places, size);
    // One sheet does not do here, darts or not.
    let one = issued(&job);
    let allowed = one.prepared.allowed.mm();
    let of_one = one
        .prepared
        .basis
        .flattening
        .iter()
        .map(|v| v.norm_mm())
        .fold(0.0, f64::max);
    assert!(of_one > allowed / 4.0, "{of_one}");

    let made = in_patches(&job).unwrap();
    let patches = &made.prepared.patches;
    let r = ball(&made);
    let marks = marks_on_ball(&made, r);
    let truth: Vec<V> = (0..2000)
        .map(|k| {
            let a = f64::from(k) * std::f64::consts::TAU / 2000.0;
            on_ball(r, (size[0] / 2.0 * a.cos(), size[1] / 2.0 * a.sin()))
        })
        .collect();
    let pages: Vec<Part> = (0..made.drawing.pages.len())
        .map(|k| part(&svg_page(&made.drawing, k).unwrap()))
        .collect();
    assert_eq!(pages.len(), patches.len(), "a page for each on A3");
    assert!(patches.len() >= 2);
    let mut all: Vec<V> = Vec::new();
    let (mut worst_said, mut worst_found): (f64, f64) = (0.0, 0.0);
    // Where the ends at each join come to lie.
    let mut ends: Vec<(String, V)> = Vec::new();
    for (page, patch) in pages.iter().zip(patches) {
        assert!(page.crosses.len() >= 2);
        let said = patch.worst.mm();
        worst_said = worst_said.max(said);
        let mut own: Vec<V> = Vec::new();
        for p in page.outline.iter().flatten() {
            let at = lands_at(r, page, &marks, &truth, *p);
            let off = truth
                .iter()
                .map(|t| great(r, at, *t))
                .fold(f64::MAX, f64::min);
            worst_found = worst_found.max(off);
            assert!(off <= said + 0.15, "{off} mm off where {said} is said");
            own.push(at);
        }
        assert_eq!(page.joins.len(), 2, "a join at either end");
        for (name, line) in &page.joins {
            // A join leaves from an end of the outline.
            let near = page
                .outline
                .iter()
                .flat_map(|run| [run[0], run[run.len() - 1]])
                .map(|end| length(minus(end, line[0])))
                .fold(f64::MAX, f64::min);
            assert!(near < 0.2, "{name}: {near}");
            ends.push((which(name), lands_at(r, page, &marks, &truth, line[0])));
        }
        all.extend(own);
    }
    assert!(worst_said < of_one / 1.3, "{worst_said} against {of_one}");
    assert!(
        worst_found > worst_said / 4.0,
        "{worst_found} of {worst_said}"
    );
    // Nothing of the outline is on no patch.
    for t in &truth {
        let near = all
            .iter()
            .map(|v| great(r, *v, *t))
            .fold(f64::MAX, f64::min);
        assert!(near < 2.0 + worst_said, "{near}");
    }
    // Both sides of a join name it alike, and their ends meet as far as is said.
    for patch in patches {
        for join in &patch.joins {
            let both: Vec<V> = ends
                .iter()
                .filter(|(s, _)| *s == which(&join.label))
                .map(|e| e.1)
                .collect();
            assert_eq!(both.len(), 2, "{}", join.label);
            let apart = great(r, both[0], both[1]);
            assert!(
                apart <= join.step.mm() + 0.3,
                "{}: {apart} apart, {} said",
                join.label,
                join.step.mm()
            );
        }
    }
    let said = &made.drawing.readable.join("\n");
    for k in 1..=patches.len() {
        let name = format!("Patch {k} of {}.", patches.len());
        assert!(said.contains(&name), "{name}: {said}");
    }
    let whole = samespot_core::write::pdf::Part {
        bookmark: "nose",
        drawing: &made.drawing,
    };
    let pdf = samespot_core::write::pdf::pdf("patches", &[whole]).unwrap();
    if let Ok(to) = std::env::var("SAMESPOT_SHOW") {
        std::fs::write(to, &pdf).unwrap();
    }
    let read = lopdf::Document::load_mem(&pdf).unwrap();
    assert_eq!(read.get_pages().len(), pages.len());
}

#[test]
fn where_one_sheet_does_no_patches_are_made() {
    let why = in_patches(&job(240.0, [120.0, 75.0, 75.0], [62.0, 48.0])).unwrap_err();
    assert!(why.to_string().contains("no patches are needed"), "{why}");
}
