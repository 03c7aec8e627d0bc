//! From a template to its pages.

use super::board::{Board, Run, Side, um};
use super::body::{self, Begun, Body};
use super::correct;
use super::drawing::{Drawing, Item, Page, PaperSize, Spot};
use super::error::SheetError;
use super::ground::{Ground, Header};
use super::input::{ScaleCorrection, TemplateSheet};
use super::paper::{Paper, SheetSetup};
use super::reference::{grouped, reference};
use super::spread;
use super::strip::{self, Plan, Strip};
use super::title::{self, Row, SheetNumber, Slot};
use super::wording::{self, join};
use crate::frames::Sheet;
use kurbo::Rect;
use std::borrow::Cow;

/// Nothing of the strip comes nearer to the trim line than this.
pub(super) const CLEAR_MM: f64 = 2.0;
/// A column of the strip is at least this wide: a line of notes holds 45 letters.
pub(super) const LEAST_COLUMN_MM: f64 = 84.0;
/// And at most this wide: longer lines are hard to follow.
const MOST_COLUMN_MM: f64 = 132.0;
/// Widths tried for a strip at the right, in small lettering and in large.
const RIGHT_MM: [[f64; 3]; 2] = [[84.0, 92.0, 102.0], [113.0, 124.0, 132.0]];

/// A page before the reference is written on it.
pub(super) struct Draft {
    pub(super) board: Board<Sheet>,
    pub(super) slots: Vec<Slot>,
    pub(super) paper: PaperSize,
    pub(super) name: String,
}

/// Lays a template out on as few sheets as its paper allows, each with everything that must stand
/// on it.
///
/// The reference is computed when the drawing is complete but for its stamps, and stamped on last;
/// [`reference`] of what is returned is therefore the reference it bears.
///
/// # Errors
/// Paper, margin or overlap that make no sheet; a template without anything to draw or out of all
/// reach; more sheets than can be joined true.
pub fn compose(sheet: &TemplateSheet) -> Result<Drawing, SheetError> {
    compose_together(core::slice::from_ref(sheet))
}

/// Lays several templates out, one after the other, as one drawing with one reference: the patches of
/// one outline belong together. Printer, issue and title are the first's.
///
/// # Errors
/// As [`compose`], of any of them.
pub fn compose_together(sheets: &[TemplateSheet]) -> Result<Drawing, SheetError> {
    let mut parts = Vec::with_capacity(sheets.len());
    for sheet in sheets {
        parts.push(Part::of(match sheet.setup.paper {
            Paper::Roll { width } => Cow::Owned(super::roll::cut_off(sheet, width)?),
            _ => Cow::Borrowed(sheet),
        })?);
    }
    finish(parts)
}

/// One template with its pages, before they are scaled for the printer.
struct Part<'a> {
    sheet: Cow<'a, TemplateSheet>,
    pages: Vec<Draft>,
    ground: Ground,
    scale: ScaleCorrection,
}

impl<'a> Part<'a> {
    fn of(sheet: Cow<'a, TemplateSheet>) -> Result<Self, SheetError> {
        let scale = correct::checked(sheet.correction)?;
        let grounds = grounds(&sheet, scale)?;
        let pages = drafts(&sheet, &grounds)?;
        let ground = grounds.first().copied().ok_or(SheetError::Empty)?;
        Ok(Self {
            sheet,
            pages,
            ground,
            scale,
        })
    }
}

/// As [`compose`], on paper with a length of its own.
pub(super) fn compose_on_sheets(sheet: &TemplateSheet) -> Result<Drawing, SheetError> {
    finish(vec![Part::of(Cow::Borrowed(sheet))?])
}

/// One sheet where template and strip go on one, if need be with the words on the template standing
/// closer or the title along the foot; else as few as can be.
fn drafts(sheet: &TemplateSheet, grounds: &[Ground]) -> Result<Vec<Draft>, SheetError> {
    let mut begun = Begun::of(sheet)?;
    let body = begun.laid_out(&[])?;
    let mut tight: Option<Begun<'_>> = None;
    let mut ways = Ways::of(sheet, grounds);
    for title_stands in [TitleStands::InTheStrip, TitleStands::AlongTheFoot] {
        if let Some(draft) = single(sheet, &body, &mut ways, title_stands) {
            return Ok(vec![draft]);
        }
        for large in [true, false] {
            let rooms = rooms(ways.fits(large, title_stands));
            if !begun.could_fit(&rooms) {
                continue;
            }
            if begun.gives_way() {
                let closer = begun.laid_out(&rooms)?;
                if let Some(draft) = single(sheet, &closer, &mut ways, title_stands) {
                    return Ok(vec![draft]);
                }
            }
            if !large {
                let begun = match &mut tight {
                    Some(begun) => begun,
                    none => none.insert(Begun::tight(sheet)?),
                };
                let tight = begun.laid_out(&rooms)?;
                if let Some(draft) = single(sheet, &tight, &mut ways, title_stands) {
                    return Ok(vec![draft]);
                }
            }
        }
    }
    let over = spread::over_sheets(sheet, &body, grounds)?;
    // Only what is chosen is drawn.
    let mut fewer: Option<(Body, spread::Spread, bool)> = None;
    let mut consider = |closer: Body, tight: bool| {
        let least = fewer.as_ref().map_or(over.sheets(), |f| f.1.sheets());
        let again = spread::over_sheets(sheet, &closer, grounds).ok();
        if let Some(again) = again.filter(|a| a.sheets() < least) {
            fewer = Some((closer, again, tight));
        }
    };
    let rooms = spread::rooms(sheet, grounds);
    if over.sheets() > 1 && begun.could_fit(&rooms) && begun.gives_way() {
        consider(begun.laid_out(&rooms)?, false);
    }
    // A template on one sheet with its words on another takes no fewer by standing closer.
    if over.sheets() > 2 {
        let begun = match &mut tight {
            Some(begun) => begun,
            none => none.insert(Begun::tight(sheet)?),
        };
        consider(begun.laid_out(&[])?, true);
        if begun.could_fit(&rooms) && begun.gives_way() {
            consider(begun.laid_out(&rooms)?, true);
        }
    }
    if let Some((body, over, tight)) = fewer {
        let (body, over) = undivided(sheet, (body, over), tight, grounds);
        if let Ok(drafts) = spread::draw(sheet, &body, &over, grounds) {
            return Ok(drafts);
        }
    }
    let (body, over) = undivided(sheet, (body, over), false, grounds);
    spread::draw(sheet, &body, &over, grounds)
}

/// A template whose words no join divides, where it can be laid so on as few sheets.
fn undivided(
    sheet: &TemplateSheet,
    (body, over): (Body, spread::Spread),
    tight: bool,
    grounds: &[Ground],
) -> (Body, spread::Spread) {
    let divided = over.divided(&body);
    if divided == 0 {
        return (body, over);
    }
    let off = Begun::off_seams(sheet, tight, &over.seams()).and_then(|mut b| b.laid_out(&[]));
    let again = off.ok().and_then(|body| {
        let over = spread::over_sheets(sheet, &body, grounds).ok()?;
        Some((body, over))
    });
    match again {
        Some((b, o)) if o.sheets() <= over.sheets() && o.divided(&b) < divided => (b, o),
        _ => (body, over),
    }
}

/// The width and height that a strip leaves a template on one sheet, mm, wherever it stands.
fn rooms(fits: &[Fit]) -> Vec<(f64, f64)> {
    fits.iter()
        .map(|fit| {
            (
                fit.free.width() - 2.0 * CLEAR_MM,
                fit.free.height() - 2.0 * CLEAR_MM,
            )
        })
        .collect()
}

/// Every way of leaving room for a template on one sheet, worked out the first time it is asked
/// for: the strip's words are the same wherever those of the template stand.
struct Ways<'a> {
    sheet: &'a TemplateSheet,
    grounds: &'a [Ground],
    /// By lettering, then by where the title stands.
    known: [[Option<Vec<Fit>>; 2]; 2],
}

impl<'a> Ways<'a> {
    fn of(sheet: &'a TemplateSheet, grounds: &'a [Ground]) -> Self {
        Self {
            sheet,
            grounds,
            known: [[None, None], [None, None]],
        }
    }

    fn fits(&mut self, large: bool, title_stands: TitleStands) -> &[Fit] {
        let [small_ways, large_ways] = &mut self.known;
        let [in_strip, along_foot] = if large { large_ways } else { small_ways };
        let known = match title_stands {
            TitleStands::InTheStrip => in_strip,
            TitleStands::AlongTheFoot => along_foot,
        };
        known.get_or_insert_with(|| fits(self.sheet, self.grounds, large, title_stands))
    }
}

/// The sheet that is the only one.
const ALONE: SheetNumber = SheetNumber { n: 1, of: 1 };
/// The second line of its first band.
const BELOW: &str =
    "True size: print at 100 %, nothing fitted to the page. Measure both bars before use.";

/// The paper both ways round, upright first.
fn grounds(sheet: &TemplateSheet, scale: ScaleCorrection) -> Result<Vec<Ground>, SheetError> {
    let upright = sheet.setup.paper.upright()?;
    let lying = PaperSize {
        width: upright.height,
        height: upright.width,
    };
    let first = Ground::new(sheet.setup, upright, scale)?;
    let overlap = sheet.setup.overlap;
    let room = (first.frame.width().min(first.frame.height()) - 30.0).max(0.0);
    if overlap < SheetSetup::LEAST_OVERLAP || overlap.mm() > room / 2.0 {
        let room = crate::units::Length::from_mm(room);
        return Err(SheetError::Overlap { overlap, room });
    }
    let mut out = vec![first];
    if lying != upright {
        out.push(Ground::new(sheet.setup, lying, scale)?);
    }
    Ok(out)
}

/// One way of putting a template and its strip on one sheet.
struct Fit {
    ground: Ground,
    header: Header,
    strip: Strip,
    plan: Plan,
    /// The strip's box and the template's.
    strip_box: Rect,
    free: Rect,
    /// The title, where it lies along the foot of the sheet with the strip over its right end.
    foot: Option<(Vec<Row>, Rect)>,
    cost: f64,
}

/// The title is the last of the strip, or lies along the foot of the sheet: an L round the template.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum TitleStands {
    InTheStrip,
    AlongTheFoot,
}

/// Every way of leaving room for a template on one sheet.
fn fits(
    sheet: &TemplateSheet,
    grounds: &[Ground],
    large: bool,
    title_stands: TitleStands,
) -> Vec<Fit> {
    let mut out = Vec::new();
    for ground in grounds {
        let header = Header::new(sheet, ground, BELOW, 0.0);
        let f = ground.frame;
        let mut area = Rect::new(f.x0, f.y0, f.x1, f.y1 - header.height());
        let mut strip = Strip::new(sheet, ground, ALONE, large, None);
        let mut foot = None;
        if title_stands == TitleStands::AlongTheFoot {
            let rows = title::rows_along(sheet, ALONE, area.width());
            let top = area.y0 + title::height(&rows);
            foot = Some((rows, Rect { y1: top, ..area }));
            area.y0 = top;
            strip = strip.untitled();
        }
        let beside_only = foot.is_some();
        for (plan, strip_box, free) in strip_places(&strip, area, large) {
            if beside_only && strip_box.x0 <= area.x0 {
                continue;
            }
            let below = foot.as_ref().map_or(0.0, |(_, r)| r.area());
            out.push(Fit {
                ground: *ground,
                header: header.clone(),
                strip: strip.clone(),
                plan,
                strip_box,
                free,
                foot: foot.clone(),
                cost: strip_box.area() + below,
            });
        }
    }
    out
}

/// The one sheet that holds template and strip with the least paper given to the strip.
fn single(
    sheet: &TemplateSheet,
    body: &Body,
    ways: &mut Ways<'_>,
    title_stands: TitleStands,
) -> Option<Draft> {
    for large in [true, false] {
        let holds = |fit: &&Fit| {
            fit.free.width() >= body.bounds.width() + 2.0 * CLEAR_MM
                && fit.free.height() >= body.bounds.height() + 2.0 * CLEAR_MM
        };
        let all = ways.fits(large, title_stands);
        let best = all.iter().filter(holds).reduce(|best, fit| {
            if fit.cost < best.cost - 1.0 {
                fit
            } else {
                best
            }
        });
        if let Some(fit) = best {
            return Some(draw_single(sheet, body, fit));
        }
    }
    None
}

/// Where a strip may stand in an area, with what it leaves free.
fn strip_places(strip: &Strip, area: Rect, large: bool) -> Vec<(Plan, Rect, Rect)> {
    let mut out = Vec::new();
    let [small_widths, large_widths] = RIGHT_MM;
    for width in if large { large_widths } else { small_widths } {
        let plan = strip.plan(width, 1);
        if plan.height <= area.height() && width < area.width() {
            let x = area.x1 - width;
            out.push((
                plan,
                Rect::new(x, area.y0, area.x1, area.y1),
                Rect::new(area.x0, area.y0, x, area.y1),
            ));
        }
    }
    for n in 1..=5_u8 {
        let column = area.width() / f64::from(n);
        if (LEAST_COLUMN_MM..=MOST_COLUMN_MM).contains(&column) {
            let plan = strip.plan(area.width(), usize::from(n));
            if plan.height < area.height() {
                let y = area.y0 + plan.height;
                out.push((
                    plan,
                    Rect::new(area.x0, area.y0, area.x1, y),
                    Rect::new(area.x0, y, area.x1, area.y1),
                ));
            }
        }
    }
    out
}

fn draw_single(sheet: &TemplateSheet, body: &Body, fit: &Fit) -> Draft {
    let mut board: Board<Sheet> = Board::new();
    let mut slots = Vec::new();
    fit.ground.draw(&mut board);
    fit.header.draw(&mut board, &fit.ground);
    let s = fit.strip_box;
    let p = crate::frames::Point2::from_mm;
    let edge = if s.x0 > fit.ground.frame.x0 + 0.1 {
        [p(s.x0, s.y0), p(s.x0, s.y1)]
    } else {
        [p(s.x0, s.y1), p(s.x1, s.y1)]
    };
    board
        .lines(super::drawing::Meaning::Frame, &edge)
        .named("tear here");
    fit.strip.draw(&mut board, &fit.plan, s, &mut slots);
    if let Some((rows, foot)) = &fit.foot {
        board
            .lines(
                super::drawing::Meaning::Frame,
                &[p(foot.x0, foot.y1), p(s.x0, foot.y1)],
            )
            .named("tear here");
        title::draw(&mut board, rows, *foot, &mut slots);
    }
    let (c, b) = (fit.free.center(), body.bounds.center());
    let by = Spot::new(um(c.x - b.x), um(c.y - b.y));
    board.extend(body.items.iter().map(|i| i.shifted(by)));
    Draft {
        board,
        slots,
        paper: fit.ground.paper,
        name: page_name(sheet, ALONE),
    }
}

pub(super) fn page_name(sheet: &TemplateSheet, number: SheetNumber) -> String {
    let w = &sheet.words;
    let template = join(&[wording::kind(w), &w.template_number], " ");
    join(
        &[
            &wording::feature_name(w),
            &template,
            &format!("sheet {}", number.says()),
        ],
        " · ",
    )
}

/// Scales for the printer, computes the reference, stamps it on.
fn finish(parts: Vec<Part<'_>>) -> Result<Drawing, SheetError> {
    let mut slots = Vec::new();
    let mut pages = Vec::new();
    let mut laid = Vec::new();
    for part in parts {
        for draft in part.pages {
            slots.push((draft.slots, laid.len()));
            let items: Vec<Item> = draft
                .board
                .into_items()
                .into_iter()
                .map(|i| correct::scaled(i, part.scale))
                .collect();
            pages.push(Page {
                paper: draft.paper,
                name: draft.name,
                items,
            });
        }
        laid.push((part.sheet, part.ground, part.scale));
    }
    let (first, ..) = laid.first().ok_or(SheetError::Empty)?;
    let (w, alone) = (&first.words, laid.len() == 1);
    let number = if alone {
        w.template_number.as_str()
    } else {
        ""
    };
    let template = join(&[wording::kind(w), number], " ");
    let title = join(
        &[
            &w.job,
            &wording::feature_field(w),
            &template,
            &format!("issue {}", w.issue),
        ],
        " · ",
    );
    let mut drawing = Drawing {
        title,
        reference: String::new(),
        readable: Vec::new(),
        pages,
    };
    drawing.reference = reference(&drawing, first.correction, w.issue);
    let shown = grouped(&drawing.reference);
    for (page, (slots, of)) in drawing.pages.iter_mut().zip(slots) {
        let Some((sheet, _, scale)) = laid.get(of) else {
            continue;
        };
        let mut board: Board<Sheet> = Board::new();
        for slot in slots {
            match slot {
                Slot::Letters { place, style } => {
                    board
                        .text(place, &shown, style, Side::Start, Run::Across)
                        .named("reference");
                }
                Slot::Code(place) => {
                    let code = title::code(&sheet.words, &drawing.reference);
                    board.extend(code.map(|c| c.draw(place)));
                }
            }
        }
        board.stamp_since(0);
        page.items.extend(
            board
                .into_items()
                .into_iter()
                .map(|i| correct::scaled(i, *scale)),
        );
    }
    let mut lines: Vec<String> = Vec::new();
    for (sheet, ground, _) in &laid {
        for line in readable(sheet, ground, &drawing) {
            // What all have in common is said once.
            if alone || !lines.contains(&line) {
                lines.push(line);
            }
        }
    }
    drawing.readable = lines;
    Ok(drawing)
}

fn readable(sheet: &TemplateSheet, ground: &Ground, drawing: &Drawing) -> Vec<String> {
    let w = &sheet.words;
    let mut out = body::readable(sheet);
    out.extend(strip::readable(sheet, ground));
    let field = |label: &str, value: &str| {
        if value.trim().is_empty() {
            String::new()
        } else {
            format!("{label}: {value}")
        }
    };
    out.extend([
        field("job", &w.job),
        field("part", &w.part),
        field("face", &w.face),
        field("for piece", &w.piece),
        field("issue date", &w.issue_date),
        field("prepared for", &w.prepared_for),
        field("finish", &w.finish),
        field("printer", &wording::printer_field(w, sheet.correction)),
        field(
            "sheets",
            &format!("{} × {}", drawing.pages.len(), sheet.setup.paper.name()),
        ),
        field("made by", &join(&[&w.program, &w.date], " · ")),
        field("supersedes", &w.supersedes),
        field("reference", &drawing.reference),
        w.invented.clone(),
        w.proving.first().cloned().unwrap_or_default(),
    ]);
    out.retain(|line| !line.trim().is_empty());
    out
}
