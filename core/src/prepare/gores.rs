//! A circle or a ring on a dome as gores alike that butt edge to edge about its middle: one outline, how
//! many, which of them carry the crosses, and what is left where they meet.

use super::error::PrepareError;
use super::feature::CrossMiss;
use super::lying::SHARE;
use super::words::tenth;
use crate::frames::{Flat, Point2, Vector2};
use crate::job::{FeatureEdit, OutlineSpec, SeenFrom};
use crate::outline::Outline;
use crate::sheet::{Cross, FlatPath, SheetJoin, TemplateSheet};
use crate::surface::{Development, Gore, GoreLeaves, Surface};
use crate::units::Length;

/// Fewer are hardly strips.
const FEWEST: u32 = 4;

/// More than this nobody joins true.
const MOST: u32 = 36;

/// A cross further outside than this is on no gore: a tongue of paper so long swings.
const TONGUE: Length = Length::from_mm(120.0);

/// The middle line runs on over either end.
const RUNS_ON: Length = Length::from_mm(8.0);

/// Less than this nobody sees, mm.
const WORTH_SAYING_MM: f64 = 0.05;

/// A set of gores alike.
#[derive(Debug, Clone)]
pub struct Gores {
    /// How many.
    pub count: u32,
    /// What each leaves.
    pub leaves: GoreLeaves,
    /// Its crosses, each with the letter of its mark and the gore that carries it.
    pub carried: Vec<(String, u32)>,
    paint_edges: Vec<FlatPath>,
    cuts: Vec<FlatPath>,
    joins: Vec<SheetJoin>,
    middle: [Point2<Flat>; 2],
    crosses: Vec<Cross>,
    pub(super) laying: String,
    pub(super) words: String,
    pub(super) flattening: Vec<Vector2<Flat>>,
    pub(super) warnings: Vec<String>,
}

/// What is made into gores.
pub(super) struct Round<'a> {
    pub(super) name: &'a str,
    pub(super) edit: &'a FeatureEdit,
    /// The face rolled out about the middle, and the same for the sheet.
    pub(super) bare: &'a Development,
    pub(super) sheet: &'a Development,
    pub(super) outline: &'a Outline<Flat>,
    pub(super) cut: Option<&'a Outline<Flat>>,
    /// Points of the outline that are looked at.
    pub(super) looked: &'a [Point2<Flat>],
    /// The marks as seen from the middle, and which carry the sheet.
    pub(super) marks: &'a [Point2<Flat>],
    pub(super) registers: &'a [usize],
    pub(super) crosses: &'a [CrossMiss],
    pub(super) allowed: Length,
}

/// How far each of its rings is from the middle, the furthest first.
fn rings_mm(outline: &Outline<Flat>) -> Vec<f64> {
    let mut all: Vec<f64> = outline
        .contours()
        .iter()
        .map(|c| c.bounds().width().mm() / 2.0)
        .collect();
    all.sort_by(|a, b| b.total_cmp(a));
    all
}

/// The fewest gores that lie.
///
/// # Errors
/// [`PrepareError::Outline`]: the face is no dome, the outline not round about its middle, no marks near.
pub(super) fn gores(round: &Round<'_>) -> Result<Gores, PrepareError> {
    let refused = |why: &str| PrepareError::Outline {
        feature: round.name.to_owned(),
        why: why.to_owned(),
    };
    let (Surface::Dome(face), Surface::Dome(middle)) = (round.bare.surface(), round.sheet.middle())
    else {
        return Err(refused(
            "gores alike lie on a dome only: on other faces take it in patches",
        ));
    };
    let round_about_its_middle = matches!(
        round.edit.outline,
        Some(OutlineSpec::Circle { .. } | OutlineSpec::Ring { .. })
    ) && matches!(round.edit.seen, None | Some(SeenFrom::Surface));
    if !round_about_its_middle {
        return Err(refused(
            "gores are alike only where it is a circle or a ring laid over the face: take it in patches",
        ));
    }
    // Over the middle of the sheet everything is so many times as long.
    let times = middle.radius().mm() / face.radius().mm();
    let radius = middle.radius();
    let edges = rings_mm(round.outline);
    let (Some(&outer), inner) = (edges.first(), edges.get(1).copied().unwrap_or(0.0)) else {
        return Err(refused("there is nothing to outline"));
    };
    let ends = [inner, outer].map(|mm| Length::from_mm(mm * times));
    let share = round.allowed.mm() * SHARE;
    let mut best: Option<(Gore, GoreLeaves)> = None;
    for count in FEWEST..=MOST {
        let Some(gore) = Gore::new(radius, count, ends) else {
            return Err(refused(
                "it reaches too far round the dome for gores: make the back a face of its own",
            ));
        };
        let leaves = gore.leaves();
        let better = best.is_none_or(|(_, b)| leaves.worst.mm() < b.worst.mm() - 1e-6);
        if better {
            best = Some((gore, leaves));
        }
        if leaves.worst.mm() <= share {
            break;
        }
    }
    let (gore, leaves) = best.ok_or_else(|| refused("it can't be made of gores"))?;

    let near: Vec<usize> = (round.registers.iter().copied())
        .filter(|&k| {
            let far = round
                .marks
                .get(k)
                .map_or(f64::MAX, |m| m.from_origin().norm_mm());
            far <= outer + TONGUE.mm()
        })
        .collect();
    let Some(first) = near
        .first()
        .and_then(|&k| round.marks.get(k))
        .map(|m| m.from_origin().direction_rad())
        .filter(|_| near.len() >= 2)
    else {
        return Err(refused(
            "gores are laid on two marks at least, no further than 120 mm outside it: read some nearer",
        ));
    };
    let mut crosses = Vec::new();
    let mut carried = Vec::new();
    for &k in &near {
        let (Some(mark), Some(miss)) = (round.marks.get(k), round.crosses.get(k)) else {
            continue;
        };
        let v = mark.from_origin();
        let (which, beside) = gore.of_bearing(v.direction_rad(), first);
        crosses.push(Cross {
            letter: miss.letter.clone(),
            place: gore.flat(v.norm() * times, beside),
            off_by: Some(format!("gore {which}, within {} mm", tenth(miss.within))),
            suspect: None,
        });
        carried.push((miss.letter.clone(), which));
    }
    let flattening = round
        .looked
        .iter()
        .map(|p| {
            let v = p.from_origin();
            let (which, beside) = gore.of_bearing(v.direction_rad(), first);
            let off = gore.lands(v.norm() * times, beside);
            // Up the gore is inwards, to its right anticlockwise about the middle.
            let b = gore.bearing(which, first);
            let (cos, sin) = (libm::cos(b), libm::sin(b));
            Vector2::from_mm(-sin, cos) * off.x_mm() - Vector2::from_mm(cos, sin) * off.y_mm()
        })
        .collect();
    let arcs = |radii: &[f64]| -> Vec<FlatPath> {
        let all = radii.iter().filter(|mm| **mm > 0.0);
        all.filter_map(|mm| FlatPath::polyline(&gore.parallel(Length::from_mm(mm * times)), false))
            .collect()
    };
    let edge = gore.edge();
    let over: Vec<Point2<Flat>> = edge
        .iter()
        .map(|p| Point2::from_mm(-p.x_mm(), p.y_mm()))
        .collect();
    let meets = Length::from_mm(leaves.gap.mm().max(leaves.overlap.mm()));
    let join = |points: &[Point2<Flat>], label: &str| {
        Some(SheetJoin {
            label: label.to_owned(),
            symbol: "|",
            other: 0,
            step: meets,
            path: FlatPath::polyline(points, false)?,
        })
    };
    let joins = [
        join(&edge, "edge to edge with the next gore"),
        join(&over, "edge to edge with the gore before"),
    ];
    let half = (ends[1] - ends[0]) / 2.0 + RUNS_ON;
    let count = gore.count();
    Ok(Gores {
        count,
        laying: laying(count, &carried, &leaves),
        words: format!(
            "; as {count} gores flat paper lands up to {} mm off, {} on the whole",
            tenth(leaves.worst),
            tenth(leaves.rms)
        ),
        warnings: warnings(&leaves, round.allowed),
        paint_edges: arcs(&edges),
        cuts: arcs(&round.cut.map(rings_mm).unwrap_or_default()),
        joins: joins.into_iter().flatten().collect(),
        middle: [
            Point2::new(Length::ZERO, half),
            Point2::new(Length::ZERO, -half),
        ],
        leaves,
        crosses,
        carried,
        flattening,
    })
}

/// *edges meet within 0.2 mm*.
fn meet_words(leaves: &GoreLeaves) -> String {
    let (gap, overlap) = (leaves.gap, leaves.overlap);
    let (most, how) = if gap >= overlap {
        (gap, "stand apart")
    } else {
        (overlap, "lie over each other")
    };
    if most.mm() < WORTH_SAYING_MM {
        "their edges meet".to_owned()
    } else {
        format!("their edges {how} by up to {} mm", tenth(most))
    }
}

fn laying(count: u32, carried: &[(String, u32)], leaves: &GoreLeaves) -> String {
    let crosses: Vec<String> = carried
        .iter()
        .map(|(letter, which)| format!("{letter} on gore {which}"))
        .collect();
    let mut words = format!(
        "Cut {count} alike, along the edges and the dashed lines. Crosses: {}; leave the paper out to them. Number gores anticlockwise, seen from outside. Lay those with crosses first, then the others edge to edge between: {}",
        crosses.join(", "),
        meet_words(leaves)
    );
    if leaves.too_long.mm() >= WORTH_SAYING_MM {
        words.push_str(&format!(
            ", and are {} mm longer than the dome: let that ripple",
            tenth(leaves.too_long)
        ));
    }
    words.push('.');
    words
}

fn warnings(leaves: &GoreLeaves, allowed: Length) -> Vec<String> {
    let too_round = leaves.worst.mm() > allowed.mm() / 2.0;
    too_round
        .then(|| {
            format!(
                "even as gores flat paper lands up to {} mm off here: a shell lies better",
                tenth(leaves.worst)
            )
        })
        .into_iter()
        .collect()
}

/// The sheet of one gore, from what the sheet of the whole says.
pub(super) fn gore_sheet(whole: TemplateSheet, gores: &Gores) -> TemplateSheet {
    let mut sheet = TemplateSheet {
        paint_edges: gores.paint_edges.clone(),
        cuts: gores.cuts.clone(),
        crosses: gores.crosses.clone(),
        joins: gores.joins.clone(),
        centre_lines: vec![gores.middle],
        darts: Vec::new(),
        as_drawn: Vec::new(),
        kept: true,
        ..whole
    };
    let words = &mut sheet.words;
    words.template_number = format!("cut {}", gores.count);
    words.up_note = "to its middle".into();
    // Its crosses lie on different gores: which way they run round says nothing.
    words.hand_check = Some(
        "With the middle up, the next gore lies on the right: they are numbered anticlockwise, seen from outside."
            .into(),
    );
    sheet
}
