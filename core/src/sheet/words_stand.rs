//! Where the words of a template stand: inside its trim where there is room, else on a tail that
//! grows out of it where that costs the least paper.

use super::board::Board;
use super::body::corners;
use super::field::Field;
use super::input::TemplateSheet;
use super::label;
use super::trace::{bounds_of, joined};
use super::trim::{Pull, Tail, TailSide, Trim};
use crate::frames::Flat;
use kurbo::{Point, Rect};

/// Where the words came to stand.
#[derive(Clone)]
pub(super) struct Placed {
    /// The trim and a ring just inside it.
    pub(super) trims: (Trim, Vec<Point>),
    pub(super) words: Vec<Rect>,
}

/// A place for the words outside the trim that the rest would have.
struct Place {
    cost: f64,
    form: usize,
    at: Rect,
    /// The trim hangs a tail there; else it goes round.
    side: Option<TailSide>,
}

/// Where UP and the block of names may stand, as far as the paper does not say.
pub(super) enum Words {
    /// Inside the trim; drawn there already.
    Inside(Placed),
    /// Outside of it: where depends on the room beside it.
    Outside(Outside),
}

/// Words that found no room inside.
pub(super) struct Outside {
    /// The corners that the trim runs round: every place is tried with a trim of its own, and only
    /// these matter to it.
    needs: Vec<Point>,
    /// How much the trim is pulled in.
    pulled: Pull,
    trims: (Trim, Vec<Point>),
    forms: Vec<label::Block>,
    hull: Rect,
    middle: Rect,
    /// Places for them; then with those in the corners that the trim leaves.
    places: [Option<Vec<Place>>; 2],
}

impl Words {
    /// Stands them inside the trim, where there is room.
    pub(super) fn of(
        board: &mut Board<Flat>,
        field: &mut Field,
        sheet: &TemplateSheet,
        (needs, pulled): (&[Point], Pull),
        middle: Rect,
    ) -> Self {
        let forms = label::forms(&sheet.words);
        let needs = super::trim::hull(needs);
        let trim = Trim::round(&needs, None, pulled);
        let inner = Trim::round(&needs, None, pulled.further_in(label::INSIDE_MM)).ring();
        let inside = field.within(&inner);
        let reach = libm::hypot(middle.width(), middle.height()) / 2.0 + 260.0;

        for form in &forms {
            let mut room = inside.clone();
            let mut placed: Vec<Rect> = Vec::new();
            for block in &form.blocks {
                let (w, h) = block.size();
                let y = if block.above {
                    middle.y1 + h / 2.0 + 6.0
                } else {
                    middle.y0 - h / 2.0 - 6.0
                };
                let wish = Point::new(middle.center().x, y);
                let Some(r) = room.nearest((w, h), wish, reach) else {
                    break;
                };
                room.take_rect(r.inflate(2.0, 2.0));
                placed.push(r);
            }
            if placed.len() == form.blocks.len() {
                for (block, r) in form.blocks.iter().zip(&placed) {
                    block.draw(board, *r);
                    field.take_rect(*r);
                }
                return Self::Inside(Placed {
                    trims: (trim, inner),
                    words: placed,
                });
            }
        }
        let hull = bounds_of(&trim.ring()).unwrap_or(middle);
        Self::Outside(Outside {
            needs,
            pulled,
            trims: (trim, inner),
            forms: label::tail_forms(&forms),
            hull,
            middle,
            places: [None, None],
        })
    }

    /// Whether rooms say where they stand.
    pub(super) const fn give_way(&self) -> bool {
        matches!(self, Self::Outside(_))
    }

    /// Where they stand, drawn there: where rooms (mm) are given beside the template, so that it
    /// fits into one of them, if that can be.
    pub(super) fn stand(
        &mut self,
        board: &mut Board<Flat>,
        field: &mut Field,
        sheet: &TemplateSheet,
        rooms: &[(f64, f64)],
    ) -> Placed {
        let outside = match self {
            Self::Inside(placed) => return placed.clone(),
            Self::Outside(outside) => outside,
        };
        let Outside {
            needs,
            pulled,
            trims: trims_without,
            forms,
            hull,
            middle,
            places: [tails, corners_too],
        } = outside;
        let room_matters = !rooms.is_empty();
        let known = if room_matters { corners_too } else { tails };
        let places =
            known.get_or_insert_with(|| places(field, sheet, forms, *hull, *middle, room_matters));
        let fitting = places
            .iter()
            .filter(|place| fits_room(&trim_round(needs, place, *pulled), rooms));
        let best = cheapest(fitting).or_else(|| cheapest(places.iter()));
        let Some((place, form)) = best.and_then(|p| Some((p, forms.get(p.form)?))) else {
            return Placed {
                trims: trims_without.clone(),
                words: Vec::new(),
            };
        };
        form.draw(board, place.at);
        field.take_rect(place.at);
        Placed {
            trims: trims(needs, place, *pulled),
            words: vec![place.at],
        }
    }
}

/// The one that takes the least paper; between as good as equals, the first.
fn cheapest<'p>(places: impl Iterator<Item = &'p Place>) -> Option<&'p Place> {
    places.reduce(|best, place| {
        if place.cost < best.cost - 1.0 {
            place
        } else {
            best
        }
    })
}

/// Whether a template with this trim fits into one of the rooms.
fn fits_room(trim: &Trim, rooms: &[(f64, f64)]) -> bool {
    let bounds = bounds_of(&trim.ring()).unwrap_or_default();
    rooms
        .iter()
        .any(|(w, h)| bounds.width() <= *w && bounds.height() <= *h)
}

/// The trim round everything and the words at a place, and a ring just inside it.
fn trims(needs: &[Point], place: &Place, pulled: Pull) -> (Trim, Vec<Point>) {
    let inner = trim_round(needs, place, pulled.further_in(label::INSIDE_MM)).ring();
    (trim_round(needs, place, pulled), inner)
}

/// The trim round everything and the words at a place.
fn trim_round(needs: &[Point], place: &Place, pulled: Pull) -> Trim {
    match place.side {
        Some(side) => {
            let words = place.at;
            Trim::round(needs, Some(Tail { side, words }), pulled)
        }
        None => {
            let mut all = needs.to_vec();
            all.extend(corners(place.at.inflate(-4.0, -4.0)));
            Trim::round(&all, None, pulled)
        }
    }
}

/// Where the words could stand; where room matters, also in the corners that the trim leaves.
fn places(
    field: &mut Field,
    sheet: &TemplateSheet,
    forms: &[label::Block],
    hull: Rect,
    middle: Rect,
    room_matters: bool,
) -> Vec<Place> {
    let mut out: Vec<Place> = Vec::new();
    for (form, words) in forms.iter().enumerate() {
        let (w, h) = words.size();
        let mut add = |side: Option<TailSide>, at: Rect| {
            let grown = joined(Some(hull), Some(at.inflate(6.0, 6.0))).unwrap_or(hull);
            // Small letters cost as much as a quarter more paper.
            let cost = grown.area() * if words.small { 1.25 } else { 1.0 };
            out.push(Place {
                cost,
                form,
                at,
                side,
            });
        };
        for (side, at) in tail_places(field, hull, middle, (w, h)) {
            let fits = match side {
                TailSide::Below => w + 24.0 < hull.width(),
                TailSide::Right => h + 24.0 < hull.height(),
            };
            // Darts are cut out of a trim line without corners that point in.
            let hangs = fits && sheet.darts.is_empty();
            add(hangs.then_some(side), at);
        }
        if room_matters {
            for (x, y) in [
                (0, 0),
                (0, 1),
                (0, 2),
                (1, 0),
                (1, 2),
                (2, 0),
                (2, 1),
                (2, 2),
            ] {
                let along = |n: i32, low: f64, high: f64| low + (high - low) * f64::from(n) / 2.0;
                let wish = Point::new(
                    along(x, hull.x0 + w / 2.0, hull.x1 - w / 2.0),
                    along(y, hull.y0 + h / 2.0, hull.y1 - h / 2.0),
                );
                if let Some(at) = field.nearest((w + 4.0, h + 4.0), wish, hull.width()) {
                    add(None, at.inflate(-2.0, -2.0));
                }
            }
        }
    }
    out
}

/// Where a tail of a size could hang: below and to the right, as near as lines allow.
fn tail_places(
    field: &mut Field,
    hull: Rect,
    middle: Rect,
    size: (f64, f64),
) -> Vec<(TailSide, Rect)> {
    let (w, h) = size;
    let c = middle.center();
    let mut out = Vec::new();
    for shift in [0.0, 15.0, -15.0, 30.0, -30.0, 60.0, -60.0] {
        let x = (c.x + shift).clamp(
            hull.x0 + w / 2.0,
            (hull.x1 - w / 2.0).max(hull.x0 + w / 2.0),
        );
        let mut y = middle.y0;
        while y > hull.y0 - 20.0 {
            let r = Rect::new(x - w / 2.0, y - h, x + w / 2.0, y);
            if field.free(r.inflate(2.0, 2.0)) {
                out.push((TailSide::Below, r));
                break;
            }
            y -= 1.0;
        }
        let y = (c.y + shift).clamp(
            hull.y0 + h / 2.0,
            (hull.y1 - h / 2.0).max(hull.y0 + h / 2.0),
        );
        let mut x = middle.x1;
        while x < hull.x1 + 20.0 {
            let r = Rect::new(x, y - h / 2.0, x + w, y + h / 2.0);
            if field.free(r.inflate(2.0, 2.0)) {
                out.push((TailSide::Right, r));
                break;
            }
            x += 1.0;
        }
    }
    out
}
