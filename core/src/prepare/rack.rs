//! Which long distances prove a finished template, and what was read of them comes to.
//!
//! A print may be true on every sheet and the template still be wrong: sheets are joined by hand,
//! card creeps, a stencil is stretched flat. So two long distances, as square to each other as the
//! crosses allow, are read on the thing itself.

use super::feature::Prepared;
use super::printer::{bears, class};
use super::shell::is_shell;
use super::words::mm;
use crate::holes::chance::Method;
use crate::job::{CheckDistance, ClassMark, Job, Printed, SheetOf, TemplateFact, TemplateSays};
use crate::proof::Rule;
use crate::sheet::{Drawing, TemplateSheet, check_bars, drawing::Meaning};
use crate::units::Length;
use serde::{Deserialize, Serialize};

/// Shorter distances say little of a whole template.
const LEAST_MM: f64 = 20.0;
/// Whatever is read finer is read with calipers.
const LEAST_OF_A_RULE: Length = Length::from_mm(0.2);
/// 95 % of a distance from pin to pin over their outsides, the pins taken off: two readings of ± 0.05
/// (ISO 13385-1, from memory) and pins that lean a little in their holes (common practice, no source).
const CALIPERS: Length = Length::from_mm(0.15);
/// A reading further out than this part of its distance is a misread one, or another template.
const ABSURD: f64 = 0.1;
/// A scale error counts in full only over what it is multiplied by: the second distance is worth its
/// length across the first. Below this sine it says the same again.
const LEAST_SINE: f64 = 0.17;

/// Two long distances that prove a finished template.
///
/// Where no sheets are joined (a torn-off strip may have one of its own) nothing can be wrong but its scale, and the check bars are longer than anything on the
/// template: how far out one may be grows with its length. Where sheets are joined a join that is off
/// moves everything behind it by the same: two long ways between crosses, as square to each other as
/// they come, may be out by the share of printer and paper and no more; over the outline where the
/// crosses are too few.
pub(super) fn check_distances(
    prepared: &Prepared,
    sheet: &TemplateSheet,
    drawing: &Drawing,
) -> Vec<CheckDistance> {
    let need = bears(prepared);
    if is_shell(&prepared.of) {
        return on_a_shell(prepared, need.share);
    }
    let joined = drawing.pages.iter().flat_map(|p| &p.items);
    let joined = joined.into_iter().any(|i| i.meaning == Meaning::Join);
    // A plate is drilled and bored: bars on the paper that was glued to it say nothing of its holes.
    let bored = matches!(prepared.of, SheetOf::Jig(_) | SheetOf::Plate(_));
    let joined = joined || bored;
    // Of holes the method's own bound is counted already (`holes::chance`): two that are so far off
    // each other are off by half of it each.
    let counted = match prepared.of {
        SheetOf::Fixing(_) => Some(Method::Templated.within()),
        SheetOf::Jig(_) | SheetOf::Plate(_) => Some(Method::Jigged.within()),
        _ => None,
    };
    let at_least = |within: Length| counted.filter(|c| *c > within).unwrap_or(within);
    if let Some(page) = drawing.pages.first().filter(|_| !joined) {
        let bars = check_bars(sheet, page);
        let bar = |between: &str, drawn: Length| CheckDistance {
            between: between.to_owned(),
            drawn,
            within: at_least(Length::from_mm(need.ratio() * drawn.mm())),
            bored: false,
        };
        return bars.map_or_else(Vec::new, |(across, up)| {
            vec![bar("the bar across", across), bar("the bar up", up)]
        });
    }
    let crosses: Vec<_> = prepared
        .crosses
        .iter()
        .filter(|c| !c.unread && c.gone.is_none())
        .collect();
    let mut all: Vec<(String, (f64, f64))> = Vec::new();
    for (i, a) in crosses.iter().enumerate() {
        for b in crosses.iter().skip(i + 1) {
            let way = b.at - a.at;
            let name = format!("{}–{}", a.letter, b.letter);
            all.push((name, (way.x_mm(), way.y_mm())));
        }
    }
    for (i, a) in prepared.holes.iter().enumerate() {
        for b in prepared.holes.iter().skip(i + 1) {
            let way = b.at - a.at;
            let name = format!("hole {} to hole {}", a.number, b.number);
            all.push((name, (way.x_mm(), way.y_mm())));
        }
    }
    if let Some(b) = prepared.paint_edge.bounds() {
        all.push(("the outline, across".into(), (b.width().mm(), 0.0)));
        all.push(("the outline, up".into(), (0.0, b.height().mm())));
    }
    chosen(&all)
        .into_iter()
        .map(|(between, long)| CheckDistance {
            between,
            drawn: Length::from_mm(libm::round(long * 10.0) / 10.0),
            within: at_least(Length::from_mm((need.ratio() * long).min(need.share.mm()))),
            bored,
        })
        .collect()
}

/// Two long distances from hole to hole, as the fixing's pattern has them, that prove a plate or a
/// template of it made without a print; none where it has fewer than two holes.
#[must_use]
pub fn between_holes(job: &Job, of: &SheetOf) -> Vec<CheckDistance> {
    let pattern = of
        .fixing()
        .and_then(|id| job.fixings.get(id)?.pattern.as_ref());
    let places = pattern.and_then(|p| p.places().ok()).unwrap_or_default();
    let mut all: Vec<(String, (f64, f64))> = Vec::new();
    for (i, a) in (1..).zip(&places) {
        for (k, b) in (i + 1..).zip(places.iter().skip(i)) {
            let way = *b - *a;
            all.push((format!("hole {i} to hole {k}"), (way.x_mm(), way.y_mm())));
        }
    }
    let (within, bored) = match of {
        SheetOf::Fixing(_) => (Method::Templated.within(), false),
        _ => (Method::Jigged.within(), true),
    };
    chosen(&all)
        .into_iter()
        .map(|(between, long)| CheckDistance {
            between,
            drawn: Length::from_mm(libm::round(long * 10.0) / 10.0),
            within,
            bored,
        })
        .collect()
}

/// A shell is filed by hand, and its face is round: what a tape finds on the thing itself is from a
/// register hole straight to the edge of the opening, which is as long on the sheet as on the skin.
fn on_a_shell(prepared: &Prepared, share: Length) -> Vec<CheckDistance> {
    let opening = prepared.cut.as_ref().unwrap_or(&prepared.paint_edge);
    let edge: Vec<_> = opening
        .samples(Length::from_mm(0.5))
        .into_iter()
        .map(|p| p.from_origin())
        .collect();
    let crosses = prepared
        .crosses
        .iter()
        .filter(|c| !c.unread && c.gone.is_none());
    crosses
        .filter_map(|c| {
            let out = c.at.from_origin();
            let way = out.unit()?;
            // The furthest place of the opening that lies in line with the hole.
            let near = edge
                .iter()
                .filter(|p| p.cross(way).abs() < 0.5)
                .map(|p| p.dot(way))
                .fold(0.0, f64::max);
            let long = out.norm_mm() - near;
            (long >= LEAST_MM / 2.0).then(|| CheckDistance {
                between: format!("hole {} to the opening, towards its middle", c.letter),
                drawn: Length::from_mm(libm::round(long * 10.0) / 10.0),
                within: share,
                bored: false,
            })
        })
        .collect()
}

/// The longest, and the one that reaches furthest across it; the first of equals.
fn chosen(all: &[(String, (f64, f64))]) -> Vec<(String, f64)> {
    let long = |w: (f64, f64)| libm::hypot(w.0, w.1);
    let mut best: Option<&(String, (f64, f64))> = None;
    for one in all {
        if long(one.1) >= LEAST_MM && best.is_none_or(|b| long(one.1) > long(b.1) + 0.05) {
            best = Some(one);
        }
    }
    let Some(first) = best else {
        return Vec::new();
    };
    let across = |w: (f64, f64)| (first.1.0 * w.1 - first.1.1 * w.0).abs() / long(first.1);
    let mut second: Option<&(String, (f64, f64))> = None;
    for one in all {
        let fair = long(one.1) >= LEAST_MM && across(one.1) >= LEAST_SINE * long(one.1);
        if fair && second.is_none_or(|s| across(one.1) > across(s.1) + 0.05) {
            second = Some(one);
        }
    }
    [Some(first), second]
        .into_iter()
        .flatten()
        .map(|(name, way)| (name.clone(), long(*way)))
        .collect()
}

/// What the size of a finished template comes to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Size {
    /// Every distance is within what it may be out, whatever the rule did.
    Proved,
    /// Some distance could not be told, or was not read.
    NotProved,
    /// Some distance is out, whatever the rule did.
    Wrong,
}

/// The same with words.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct SizeSays {
    /// What it comes to.
    pub size: Size,
    /// A line for each distance.
    pub lines: Vec<String>,
}

/// What readings of the check distances come to; `read` in the order of the distances.
///
/// # Errors
/// The sentence to show where a reading is no reading of that distance.
pub fn judge_size(
    distances: &[CheckDistance],
    read: &[Option<Length>],
    mark: ClassMark,
    step: Length,
) -> Result<SizeSays, String> {
    let rule = Rule {
        class: class(mark),
        step,
    };
    let mut worst = if distances.is_empty() {
        Size::NotProved
    } else {
        Size::Proved
    };
    let mut lines = Vec::new();
    for (n, d) in distances.iter().enumerate() {
        let Some(read) = read.get(n).copied().flatten() else {
            worst = worst.max(Size::NotProved);
            lines.push(format!("{}: not read", d.between));
            continue;
        };
        let off = read.mm() - d.drawn.mm();
        if !off.is_finite() || off.abs() > ABSURD * d.drawn.mm() {
            return Err(format!(
                "{} was drawn {} mm long and can’t be {} mm on this template: look at the unit and type it again, or look whether it is the template you mean",
                d.between,
                mm(d.drawn),
                mm(read)
            ));
        }
        let sure = if d.bored && step < LEAST_OF_A_RULE {
            CALIPERS.mm()
        } else {
            rule.tells(d.drawn) * d.drawn.mm()
        };
        let may = d.within.mm();
        let out = if off >= 0.05 {
            format!("{} mm too long", mm(Length::from_mm(off)))
        } else if off <= -0.05 {
            format!("{} mm too short", mm(Length::from_mm(-off)))
        } else {
            "as drawn".to_owned()
        };
        let found = format!(
            "{}: {out}, read to ± {} mm; {} mm either way is allowed",
            d.between,
            mm(Length::from_mm(sure)),
            mm(d.within)
        );
        let (size, after) = if off.abs() + sure <= may {
            (Size::Proved, "")
        } else if off.abs() - sure > may {
            (Size::Wrong, ": not at size")
        } else {
            (Size::NotProved, ": this rule can’t tell")
        };
        worst = worst.max(size);
        lines.push(format!("{found}{after}"));
    }
    Ok(SizeSays { size: worst, lines })
}

/// What readings of a template came to when they were taken.
#[must_use]
pub fn judged(event: &TemplateFact, distances: &[CheckDistance]) -> Option<SizeSays> {
    let TemplateSays::Measured { read, class, step } = &event.says else {
        return None;
    };
    let of = |d: &CheckDistance| {
        let one = read.iter().find(|r| r.between == d.between);
        one.map(|r| r.read.mm)
    };
    let read: Vec<Option<Length>> = distances.iter().map(of).collect();
    judge_size(distances, &read, *class, *step).ok()
}

/// What the templates made from a print last came to, the worst of them; nothing where none was read.
#[must_use]
pub fn size_of_print(job: &Job, print: &Printed) -> Option<Size> {
    let made = job.templates.iter();
    let made = made.filter(|(_, t)| t.reference.as_ref() == Some(&print.reference));
    let last = made.filter_map(|(id, _)| {
        let mut events = job.happened_to(id).rev();
        let last = events.find_map(|e| match &e.says.says {
            TemplateSays::Retired { .. } => Some(None),
            _ => judged(&e.says, &print.distances).map(|s| Some(s.size)),
        });
        last.flatten()
    });
    last.max()
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    fn named(all: &[(&str, f64, f64)]) -> Vec<(String, (f64, f64))> {
        all.iter()
            .map(|(n, x, y)| ((*n).to_owned(), (*x, *y)))
            .collect()
    }

    #[test]
    fn the_longest_and_the_one_that_reaches_furthest_across_it() {
        // A square of 300 with a fourth mark: both diagonals, worth 424.3 each.
        let square = named(&[
            ("A–B", 300.0, 0.0),
            ("A–C", 300.0, 300.0),
            ("A–D", 0.0, 300.0),
            ("B–C", 0.0, 300.0),
            ("B–D", -300.0, 300.0),
        ]);
        let two = chosen(&square);
        assert_eq!(two[0].0, "A–C");
        assert_eq!(two[1].0, "B–D");
        assert!((two[1].1 - 424.264).abs() < 1e-3);
        // All marks in line: the outline takes the other way.
        let line = named(&[
            ("A–B", 200.0, 0.0),
            ("A–C", 400.0, 0.0),
            ("the outline, across", 60.0, 0.0),
            ("the outline, up", 0.0, 80.0),
        ]);
        let names: Vec<_> = chosen(&line).into_iter().map(|c| c.0).collect();
        assert_eq!(names, ["A–C", "the outline, up"]);
        assert!(chosen(&named(&[("the outline, up", 0.0, 12.0)])).is_empty());
    }

    fn distance(drawn: f64, within: f64) -> CheckDistance {
        CheckDistance {
            between: "A–C".into(),
            drawn: Length::from_mm(drawn),
            within: Length::from_mm(within),
            bored: false,
        }
    }

    /// A rule never tells ± 0.3 between two holes of a jig; calipers over pins do, and only there.
    #[test]
    fn calipers_prove_what_is_bored_and_nothing_that_is_drawn() {
        let says = |bored: bool, step: f64, read: f64| {
            let one = CheckDistance {
                bored,
                ..distance(83.2, 0.3)
            };
            let read = [Some(Length::from_mm(read))];
            let step = Length::from_mm(step);
            judge_size(&[one], &read, ClassMark::I, step).unwrap().size
        };
        assert_eq!(says(true, 0.5, 83.2), Size::NotProved);
        assert_eq!(says(true, 0.1, 83.3), Size::Proved);
        assert_eq!(says(true, 0.1, 83.4), Size::NotProved);
        assert_eq!(says(true, 0.1, 83.7), Size::Wrong);
        assert_eq!(says(false, 0.1, 83.2), Size::NotProved);
    }

    fn says(drawn: f64, within: f64, read: f64) -> Size {
        let read = [Some(Length::from_mm(read))];
        let half = Length::from_mm(0.5);
        judge_size(&[distance(drawn, within)], &read, ClassMark::I, half)
            .unwrap()
            .size
    }

    /// OIML R 35-1:2007, table 1: class I is out by no more than 0.1 + 0.1 L (L in whole metres
    /// rounded up), so 0.2 mm at 400 mm, 0.115 as a standard deviation. Half a millimetre read
    /// (0.144) between two crosses (0.1 √2): ± 2·√(0.144² + 0.141² + 0.115²) = ± 0.465 mm.
    #[test]
    fn what_the_rule_may_be_out_is_on_the_safe_side_both_ways() {
        assert_eq!(says(400.0, 0.8, 400.3), Size::Proved);
        assert_eq!(says(400.0, 0.8, 399.7), Size::Proved);
        assert_eq!(says(400.0, 0.8, 400.5), Size::NotProved);
        assert_eq!(says(400.0, 0.8, 401.2), Size::NotProved);
        assert_eq!(says(400.0, 0.8, 401.5), Size::Wrong);
        assert_eq!(says(400.0, 0.8, 398.5), Size::Wrong);
        // No reading proves what the rule can't tell.
        assert_eq!(says(400.0, 0.4, 400.0), Size::NotProved);
    }

    #[test]
    fn a_distance_that_was_not_read_proves_nothing() {
        let two = [distance(400.0, 0.8), distance(300.0, 0.8)];
        let read = [Some(Length::from_mm(400.0)), None];
        let says = judge_size(&two, &read, ClassMark::I, Length::from_mm(0.5)).unwrap();
        assert_eq!(says.size, Size::NotProved);
        assert_eq!(says.lines[1], "A–C: not read");
        assert_eq!(
            judge_size(&[], &[], ClassMark::I, Length::from_mm(0.5))
                .unwrap()
                .size,
            Size::NotProved
        );
    }

    #[test]
    fn inches_and_another_template_are_refused() {
        let one = [distance(400.0, 0.8)];
        for read in [15.75, 40.0, 4000.0, f64::from(u32::MAX)] {
            let read = [Some(Length::from_mm(read))];
            let why = judge_size(&one, &read, ClassMark::I, Length::from_mm(0.5)).unwrap_err();
            assert!(why.contains("look at the unit"), "{why}");
        }
    }

    /// The chosen two do not depend on how the template is turned.
    #[test]
    fn turning_the_template_changes_nothing() {
        let ways = [(310.0, 40.0), (-120.0, 260.0), (90.0, -210.0), (15.0, 33.0)];
        let named = |turn: f64| -> Vec<_> {
            let (s, c) = (libm::sin(turn), libm::cos(turn));
            ways.iter()
                .enumerate()
                .map(|(n, w)| (n.to_string(), (c * w.0 - s * w.1, s * w.0 + c * w.1)))
                .collect()
        };
        for degree in 0..360 {
            let two = chosen(&named(f64::from(degree).to_radians()));
            assert_eq!(
                (two[0].0.as_str(), two[1].0.as_str()),
                ("0", "1"),
                "{degree}°"
            );
            assert!((two[0].1 - 312.57).abs() < 0.01);
            assert!((two[1].1 - 286.356).abs() < 0.01);
        }
    }
}
