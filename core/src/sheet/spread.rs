//! A template over several sheets: the fewest, joined at marks that both neighbours show.

use super::board::Board;
use super::body::{Body, Together};
use super::clip::{Window, clip_item};
use super::compose::{CLEAR_MM, Draft, LEAST_COLUMN_MM, page_name};
use super::drawing::{Item, Meaning, Spot};
use super::error::SheetError;
use super::field::Field;
use super::ground::{Ground, Header};
use super::ink::Ink;
use super::input::{TemplateSheet, Words};
use super::joins::{Join, joins};
use super::strip::{Plan, Strip};
use super::tiles::{Grid, Tile, count, millimetres};
use super::title::{self, FOOTER_MM, SheetNumber};
use super::trace::{holding, item_bounds};
use crate::frames::{Flat, Sheet};
use crate::units::Length;
use kurbo::{Point, Rect};

/// Room kept in the first band for the map of the sheets.
const MAP_MM: f64 = 26.0;

/// How a template lies over sheets of one orientation.
pub(super) struct Spread {
    ground: Ground,
    usable: Rect,
    grid: Grid,
    /// Which sheet has the strip in a corner that the template leaves free, else it has a sheet of
    /// its own.
    strip: Option<(usize, Strip, Plan, Rect)>,
}

impl Spread {
    /// Sheets of paper, with one for the words where no corner holds them.
    pub(super) fn sheets(&self) -> usize {
        self.grid.tiles.len() + usize::from(self.strip.is_none())
    }

    /// The middle of every overlap, end to end.
    pub(super) fn seams(&self) -> Vec<[Point; 2]> {
        self.grid.seams()
    }

    /// How many blocks of words no sheet shows whole.
    pub(super) fn divided(&self, body: &Body) -> usize {
        let whole = |r: &Rect| {
            let holds = |tile: &Tile| millimetres(tile.window).contains_rect(*r);
            self.grid.tiles.iter().any(holds)
        };
        body.words.iter().filter(|r| !whole(r)).count()
    }
}

/// The words of the first band's second line at their longest, to keep room for them.
const LONGEST: &str = "Sheet 10 of 10. Joins: ● to sheet 10, ▲ to sheet 10, ■ to sheet 10, ● to sheet 10. \
    Lay cross on cross, both of a pair, then tape. True size: print at 100 %, nothing fitted.";

/// What of a sheet the template may take: the words of the first band at their longest, or those of
/// a template without joins.
fn usable(sheet: &TemplateSheet, ground: &Ground, joined: bool) -> Rect {
    let header = if joined {
        Header::new(sheet, ground, LONGEST, MAP_MM)
    } else {
        Header::new(
            sheet,
            ground,
            &band(SheetNumber { n: 1, of: 2 }, 0, &[]),
            0.0,
        )
    };
    let f = ground.frame;
    Rect::new(f.x0, f.y0 + FOOTER_MM, f.x1, f.y1 - header.height())
}

/// The width and height of a template that needs one sheet, mm.
pub(super) fn rooms(sheet: &TemplateSheet, grounds: &[Ground]) -> Vec<(f64, f64)> {
    let all = grounds.iter().map(|ground| usable(sheet, ground, false));
    all.map(|u| (u.width() - 2.0, u.height() - 2.0)).collect()
}

/// The fewest sheets of paper that hold a template, before anything is drawn on them.
pub(super) fn over_sheets(
    sheet: &TemplateSheet,
    body: &Body,
    grounds: &[Ground],
) -> Result<Spread, SheetError> {
    let overlap = sheet.setup.overlap.mm();
    let most = f64::from(sheet.setup.most_sheets);
    let mut least = f64::INFINITY;
    let mut best: Option<Spread> = None;
    let ways = [true, false].into_iter();
    for (joined, ground) in ways.flat_map(|j| grounds.iter().map(move |g| (j, g))) {
        let usable = usable(sheet, ground, joined);
        if usable.width() < 3.0 * overlap || usable.height() < 3.0 * overlap {
            continue;
        }
        let b = body.bounds;
        let windows = count(b.width() + 2.0, usable.width(), overlap)
            * count(b.height() + 2.0, usable.height(), overlap);
        if !joined && windows > 1.0 {
            continue;
        }
        // Corners that the template leaves empty need no sheet; more than half never are.
        if windows > 2.0 * most + 4.0 {
            least = least.min(windows);
            continue;
        }
        let size = (usable.width(), usable.height());
        let mut corners = Corners::of(sheet, ground, usable, body);
        for grid in Grid::covers(body, size, overlap) {
            // The strip may go on a sheet of the template's, no more is to be had.
            let fewest = best.as_ref().map_or(usize::MAX, Spread::sheets);
            if grid.tiles.len() >= fewest {
                continue;
            }
            let strip = corners.one(&grid);
            let spread = Spread {
                ground: *ground,
                usable,
                grid,
                strip,
            };
            #[expect(clippy::cast_precision_loss, reason = "a few dozen")]
            let sheets = spread.sheets() as f64;
            least = least.min(sheets);
            if sheets <= most && spread.sheets() < fewest {
                best = Some(spread);
            }
        }
    }
    let Some(spread) = best else {
        let paper = sheet.setup.paper.name();
        if !least.is_finite() {
            return Err(SheetError::WordsTooLong { paper });
        }
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "saturates"
        )]
        let sheets = least as u32;
        return Err(SheetError::TooManySheets {
            sheets,
            most: sheet.setup.most_sheets,
            paper,
            width: Length::from_mm(body.bounds.width()),
            height: Length::from_mm(body.bounds.height()),
        });
    };
    Ok(spread)
}

/// Columns that a strip in a corner may have, and how wide each is, mm.
const IN_A_CORNER: [(u8, f64); 7] = [
    (1, 84.0),
    (1, 100.0),
    (2, 84.0),
    (2, 100.0),
    (3, 84.0),
    (3, 100.0),
    (4, 90.0),
];

/// Which windows a cover has.
type Layout = Vec<(usize, usize)>;
/// The strip in large lettering and in small, with how it stands in each number of columns.
type Forms = [(Strip, Vec<Plan>); 2];

/// Corners of the sheets of one orientation: what is free of the template, and how the strip stands,
/// are the same wherever the template lies on them.
struct Corners<'a> {
    sheet: &'a TemplateSheet,
    ground: &'a Ground,
    usable: Rect,
    body: &'a Body,
    free: Option<Field>,
    strips: Vec<(Layout, Forms)>,
}

impl<'a> Corners<'a> {
    fn of(sheet: &'a TemplateSheet, ground: &'a Ground, usable: Rect, body: &'a Body) -> Self {
        Self {
            sheet,
            ground,
            usable,
            body,
            free: None,
            strips: Vec::new(),
        }
    }

    /// The strips of a cover, in every form.
    fn strips(&mut self, grid: &Grid) -> Option<&Forms> {
        let layout: Layout = grid.tiles.iter().map(|t| (t.column, t.row)).collect();
        let known = self.strips.iter().position(|(l, _)| *l == layout);
        let at = known.unwrap_or(self.strips.len());
        if known.is_none() {
            let of = grid.tiles.len();
            let made = [true, false].map(|large| {
                let map = (of > 1).then(|| (grid.clone(), 0));
                let number = SheetNumber { n: 1, of };
                let strip = Strip::new(self.sheet, self.ground, number, large, map);
                let plans = IN_A_CORNER
                    .iter()
                    .map(|(n, column)| strip.plan(f64::from(*n) * column, usize::from(*n)))
                    .collect();
                (strip, plans)
            });
            self.strips.push((layout, made));
        }
        self.strips.get(at).map(|(_, made)| made)
    }

    /// A corner of a sheet that holds the strip without touching the template or a neighbour.
    fn one(&mut self, grid: &Grid) -> Option<(usize, Strip, Plan, Rect)> {
        let overlap = self.sheet.setup.overlap.mm();
        let (of, usable, sheet) = (grid.tiles.len(), self.usable, self.sheet);
        // All that the template and its clearance take; what lies further out is free.
        let about = self.body.bounds.inflate(5.0, 5.0);
        let mut field = self.free.take().unwrap_or_else(|| {
            let mut field = Field::new(about);
            field.take_ring(&self.body.ring, true);
            field.take_lines(&self.body.ring, CLEAR_MM + 1.0);
            field
        });
        let map = |i: usize| (of > 1).then(|| (grid.clone(), i));
        let mut found = None;
        for (first, plans) in self.strips(grid)? {
            for (i, tile) in grid.tiles.iter().enumerate() {
                let [left, right, below, above] = grid.neighbours(*tile);
                let inset = |there: bool| if there { overlap } else { 0.0 };
                let room = Rect::new(
                    usable.x0 + inset(left),
                    usable.y0 + inset(below),
                    usable.x1 - inset(right),
                    usable.y1 - inset(above),
                );
                let low = mm(tile.window.rect());
                let mut place = |(w, h): (f64, f64)| {
                    if w > room.width() || h > room.height() {
                        return None;
                    }
                    let corners = [
                        (room.x1 - w, room.y0),
                        (room.x0, room.y0),
                        (room.x1 - w, room.y1 - h),
                        (room.x0, room.y1 - h),
                    ];
                    let all = corners.map(|(x, y)| Rect::new(x, y, x + w, y + h));
                    let by = kurbo::Vec2::new(low.x0 - usable.x0, low.y0 - usable.y0);
                    all.into_iter().find(|r| {
                        let near = (*r + by).intersect(about);
                        near.is_zero_area() || field.free(near)
                    })
                };
                for ((n, column), plan) in IN_A_CORNER.iter().zip(plans) {
                    if place((plan.width, plan.height)).is_none() {
                        continue;
                    }
                    // Its own number may take a line more.
                    let strip = first.on_sheet(sheet, SheetNumber { n: i + 1, of }, map(i));
                    let plan = strip.plan(f64::from(*n) * column, usize::from(*n));
                    if let Some(r) = place((plan.width, plan.height)) {
                        found = Some((i, strip, plan, r));
                        break;
                    }
                }
                if found.is_some() {
                    break;
                }
            }
            if found.is_some() {
                break;
            }
        }
        self.free = Some(field);
        found
    }
}

fn mm(r: Rect) -> Rect {
    Rect::new(r.x0 / 1000.0, r.y0 / 1000.0, r.x1 / 1000.0, r.y1 / 1000.0)
}

/// The sheets, drawn.
pub(super) fn draw(
    sheet: &TemplateSheet,
    body: &Body,
    spread: &Spread,
    grounds: &[Ground],
) -> Result<Vec<Draft>, SheetError> {
    let overlap = sheet.setup.overlap.mm();
    let grid = &spread.grid;
    // More words than one sheet holds (a jig that serves a whole run): on as many as it takes.
    let mut words = Vec::new();
    if spread.strip.is_none() {
        words = words_over(sheet, spread, grounds, 1)?;
        if words.len() > 1 {
            words = words_over(sheet, spread, grounds, words.len())?;
        }
    }
    let of = grid.tiles.len() + words.len();
    let mut field = body.field.clone();
    let mut ink = Ink::of(&body.items);
    if let Some((i, _, _, r)) = &spread.strip
        && let Some(tile) = grid.tiles.get(*i)
    {
        let low = mm(tile.window.rect());
        let by = kurbo::Vec2::new(low.x0 - spread.usable.x0, low.y0 - spread.usable.y0);
        field.take_rect(*r + by);
        ink.take(*r + by);
    }
    let joins = joins(grid, &mut field, &mut ink, overlap);
    let mut shared: Board<Flat> = Board::new();
    for join in &joins {
        join.draw(&mut shared, &body.words);
    }
    let mut drafts = Vec::new();
    for (i, tile) in grid.tiles.iter().enumerate() {
        let number = SheetNumber { n: i + 1, of };
        let mut own: Board<Flat> = Board::new();
        for join in joins.iter().filter(|j| j.a == i || j.b == i) {
            join.label(&mut own, (&mut field, &mut ink), tile.window);
        }
        let mut board: Board<Sheet> = Board::new();
        let mut slots = Vec::new();
        spread.ground.draw(&mut board);
        let several = grid.tiles.len() > 1;
        let map_mm = if several { MAP_MM } else { 0.0 };
        let header = Header::new(sheet, &spread.ground, &band(number, i, &joins), map_mm)
            .at_least(spread.ground.frame.y1 - spread.usable.y1);
        let header = match &spread.strip {
            Some((k, ..)) if *k == i => header,
            _ => header.without_strip(&sheet.words),
        };
        header.draw(&mut board, &spread.ground);
        if several {
            map(&mut board, spread, Some(i));
        }
        foot(&mut board, sheet, spread, number, &mut slots);
        let low = Spot::new(
            super::board::um(spread.usable.x0),
            super::board::um(spread.usable.y0),
        );
        let by = low.shifted(Spot::new(-tile.window.low.x, -tile.window.low.y));
        let elsewhere = said_elsewhere(body, tile.window, grid);
        let on_it = body.items.iter().filter(|item| !lies_in(item, &elsewhere));
        let items = on_it.chain(shared.items()).chain(own.items());
        let shown = items.filter(|item| !cut_words(item, tile.window, grid));
        board.extend(
            shown
                .filter_map(|item| clip_item(item, tile.window))
                .map(|item| item.moved(by)),
        );
        if let Some((_, strip, plan, r)) = spread.strip.as_ref().filter(|(k, ..)| *k == i) {
            board.rect(Meaning::Frame, *r).named("tear here");
            strip.draw(&mut board, plan, *r, &mut slots);
        }
        drafts.push(Draft {
            board,
            slots,
            paper: spread.ground.paper,
            name: page_name(sheet, number),
        });
    }
    drafts.append(&mut words);
    Ok(drafts)
}

/// Where words stand that this sheet shows without what they are about, or only some of, while a
/// neighbour shows all of it, mm.
fn said_elsewhere(body: &Body, window: Window, grid: &Grid) -> Vec<Rect> {
    let holds = |w: Window, r: Rect| {
        let w = mm(w.rect());
        r.x0 >= w.x0 && r.x1 <= w.x1 && r.y0 >= w.y0 && r.y1 <= w.y1
    };
    let somewhere = |r: Rect| grid.tiles.iter().any(|tile| holds(tile.window, r));
    let half = |t: &&Together| {
        // Where no sheet shows both, the words stand where all of them do.
        let wanted = if somewhere(t.all) { t.all } else { t.words };
        !holds(window, wanted) && somewhere(wanted)
    };
    let those = body.together.iter().filter(half);
    // What is drawn a hair outside its box is of it too.
    those.map(|t| t.words.inflate(0.4, 0.4)).collect()
}

/// Words and the boxes round them; lines that run through are not of them.
fn lies_in(item: &Item, boxes: &[Rect]) -> bool {
    let near = |r: &&Rect| {
        item_bounds(item).is_some_and(|b| {
            let b = mm(b);
            b.x0 >= r.x0 && b.x1 <= r.x1 && b.y0 >= r.y0 && b.y1 <= r.y1
        })
    };
    !boxes.is_empty() && boxes.iter().find(near).is_some()
}

/// Half a word at the edge of a sheet, while a neighbour shows the whole of it, only confuses.
fn cut_words(item: &Item, window: Window, grid: &Grid) -> bool {
    if item.meaning != Meaning::Note {
        return false;
    }
    if holding(item).is_some_and(|holds| window.holds_rect(holds)) {
        return false;
    }
    let Some(b) = item_bounds(item) else {
        return false;
    };
    let whole = |w: Window| {
        let r = w.rect();
        b.x0 >= r.x0 && b.x1 <= r.x1 && b.y0 >= r.y0 && b.y1 <= r.y1
    };
    !whole(window) && grid.tiles.iter().any(|t| whole(t.window))
}

fn band(number: SheetNumber, i: usize, joins: &[Join]) -> String {
    let own: Vec<String> = joins
        .iter()
        .filter(|j| j.a == i || j.b == i)
        .map(|j| {
            format!(
                "{} to sheet {}",
                j.symbol,
                if j.a == i { j.b } else { j.a } + 1
            )
        })
        .collect();
    let joins = if own.is_empty() {
        String::new()
    } else {
        format!(
            " Joins: {}. Lay cross on cross, both of a pair, then tape.",
            own.join(", ")
        )
    };
    format!(
        "Sheet {}.{joins} True size: print at 100 %, nothing fitted.",
        number.says()
    )
}

fn map(board: &mut Board<Sheet>, spread: &Spread, here: Option<usize>) {
    let f = spread.ground.frame;
    let band = Rect::new(
        f.x1 - MAP_MM,
        spread.usable.y1 + 1.5,
        f.x1 - 2.0,
        f.y1 - 1.5,
    );
    let (w, h) = spread.grid.map_size(band.width(), band.height());
    let c = band.center();
    let r = Rect::new(band.x1 - w, c.y - h / 2.0, band.x1, c.y + h / 2.0);
    spread
        .grid
        .draw_map(board, r, here.unwrap_or(usize::MAX), false);
}

fn foot(
    board: &mut Board<Sheet>,
    sheet: &TemplateSheet,
    spread: &Spread,
    number: SheetNumber,
    slots: &mut Vec<title::Slot>,
) {
    let f = spread.ground.frame;
    let r = Rect::new(f.x0, f.y0, f.x1, f.y0 + FOOTER_MM);
    let p = crate::frames::Point2::from_mm;
    board.lines(Meaning::Rule, &[p(r.x0, r.y1), p(r.x1, r.y1)]);
    title::draw(board, &[title::footer(sheet, number, r.width())], r, slots);
}

/// What the band of a sheet of words says under its title.
fn below(spread: &Spread, number: SheetNumber, words: &Words) -> String {
    let first = match spread.grid.tiles.len() {
        0 | 1 => "Sheet 1 is the template.".into(),
        n => format!("Join sheets 1 to {n} first."),
    };
    let with = if words.is_of_a_piece() {
        "the piece"
    } else {
        "the others"
    };
    format!(
        "Sheet {}: nothing to cut; it stays with {with}. {first}",
        number.says()
    )
}

/// The words on sheets of their own, the last: on one where they fit, large if they can be, lying
/// as the template's own sheets where that fits, else the other way round; on as few as hold them
/// where no one does.
fn words_over(
    sheet: &TemplateSheet,
    spread: &Spread,
    grounds: &[Ground],
    take: usize,
) -> Result<Vec<Draft>, SheetError> {
    let tiles = spread.grid.tiles.len();
    let of = tiles + take;
    let map = || (tiles > 1).then(|| (spread.grid.clone(), usize::MAX));
    let number = SheetNumber { n: tiles + 1, of };
    let other = grounds.iter().filter(|g| g.paper != spread.ground.paper);
    let ways = core::iter::once(&spread.ground).chain(other);
    for (large, ground) in [true, false]
        .into_iter()
        .flat_map(|large| ways.clone().map(move |g| (large, g)))
    {
        let strip = Strip::new(sheet, ground, number, large, map());
        let (header, area) = words_area(sheet, spread, ground, number);
        if let Some(plan) = planned(&strip, area) {
            let drawn = words_sheet(sheet, ground, &header, (&strip, &plan), (area, number));
            return Ok(vec![drawn]);
        }
    }
    let ground = &spread.ground;
    let whole = Strip::new(sheet, ground, number, false, map()).broken();
    let mut drafts = Vec::new();
    let mut from = 0;
    while from < whole.blocks() {
        let n = tiles + drafts.len() + 1;
        let number = SheetNumber { n, of: of.max(n) };
        let (header, area) = words_area(sheet, spread, ground, number);
        let most = (from + 1..=whole.blocks()).rev().find_map(|to| {
            let part = whole.part(sheet, number, from..to);
            planned(&part, area).map(|plan| (to, part, plan))
        });
        let Some((to, part, plan)) = most else {
            let paper = sheet.setup.paper.name();
            return Err(SheetError::WordsTooLong { paper });
        };
        drafts.push(words_sheet(
            sheet,
            ground,
            &header,
            (&part, &plan),
            (area, number),
        ));
        from = to;
    }
    Ok(drafts)
}

/// The band of a sheet of words and what is left under it.
fn words_area(
    sheet: &TemplateSheet,
    spread: &Spread,
    ground: &Ground,
    number: SheetNumber,
) -> (Header, Rect) {
    let header = Header::new(sheet, ground, &below(spread, number, &sheet.words), 0.0);
    let f = ground.frame;
    let area = Rect::new(f.x0, f.y0, f.x1, f.y1 - header.height());
    (header, area)
}

/// The fewest columns in which a strip stands within an area.
fn planned(strip: &Strip, area: Rect) -> Option<Plan> {
    (1..=4_u8)
        .take_while(|n| area.width() / f64::from(*n) >= LEAST_COLUMN_MM)
        .map(|n| strip.plan(area.width(), usize::from(n)))
        .find(|plan| plan.height <= area.height())
}

fn words_sheet(
    sheet: &TemplateSheet,
    ground: &Ground,
    header: &Header,
    (strip, plan): (&Strip, &Plan),
    (area, number): (Rect, SheetNumber),
) -> Draft {
    let mut board: Board<Sheet> = Board::new();
    let mut slots = Vec::new();
    ground.draw(&mut board);
    header.draw(&mut board, ground);
    let r = Rect::new(area.x0, area.y1 - plan.height, area.x1, area.y1);
    strip.draw(&mut board, plan, r, &mut slots);
    if plan.height < area.height() - 1.0 {
        let p = crate::frames::Point2::from_mm;
        board.lines(Meaning::Frame, &[p(r.x0, r.y0), p(r.x1, r.y0)]);
    }
    Draft {
        board,
        slots,
        paper: ground.paper,
        name: page_name(sheet, number),
    }
}
