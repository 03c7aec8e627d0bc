//! Known places of a drawing, which no camera took: it is turned, scaled and shifted, and no more.

use super::on_places::numbers;
use super::view::{View, radius};
use crate::read::marked_picture::{KnownPlace, MarkedError, MarkedPicture, Tap};
use kurbo::{Affine, Point};

/// Where a drawing belongs in the plane of its known places.
pub struct ToScale {
    /// From the page, in units of its width, y up from its lower left corner, to mm.
    plane_from_page: Affine,
    view: View,
}

impl ToScale {
    /// The map that fits the known places best, all of them together.
    ///
    /// `proportion` is how high the page is for its width.
    ///
    /// # Errors
    /// [`MarkedError`]: fewer than two, places that do not fit one another, a mirrored drawing.
    pub fn of(places: &MarkedPicture, proportion: f64) -> Result<Self, MarkedError> {
        numbers(places)?;
        let n = places.known.len();
        if n < 2 {
            return Err(MarkedError::TooFewDrawn(n));
        }
        if places.fifth_needed && n < 3 {
            return Err(MarkedError::NeedsThird);
        }
        let high = 1000.0 * proportion;
        if !(high.is_finite() && high > 0.0) {
            return Err(MarkedError::NoSize);
        }
        // A browser rounds the height of what it shows to whole pixels; the page knows its own.
        let known: Vec<KnownPlace> = (places.known.iter())
            .map(|place| KnownPlace {
                tap: Tap {
                    at: [place.tap.at[0], place.tap.at[1] * high / places.high],
                    ..place.tap
                },
                ..place.clone()
            })
            .collect();
        let view = View::turned_and_scaled(&known, high, 0.0).map_err(|why| match why {
            MarkedError::NotSquareOn { off, expected } => MarkedError::NotToScale { off, expected },
            why => why,
        })?;
        // Three corners of the page, in the picture's own thousandths with y running up from its head.
        let corner = |x: f64, y: f64| view.place(Point::new(1000.0 * x, 1000.0 * y - high));
        let (Some(low), Some(right), Some(up)) =
            (corner(0.0, 0.0), corner(1.0, 0.0), corner(0.0, 1.0))
        else {
            return Err(MarkedError::NoSize);
        };
        let (across, upward) = (right - low, up - low);
        Ok(Self {
            plane_from_page: Affine::new([across.x, across.y, upward.x, upward.y, low.x, low.y]),
            view,
        })
    }

    /// From the page, in units of its width, to the plane of the known places, mm.
    #[must_use]
    pub const fn plane_from_page(&self) -> Affine {
        self.plane_from_page
    }

    /// How true it is at a place of the plane (95 %), mm.
    #[must_use]
    pub fn within(&self, at: Point) -> f64 {
        radius(self.view.carried(at))
    }

    /// The middle of the known places, mm.
    #[must_use]
    pub const fn middle(&self) -> Point {
        self.view.middle()
    }
}
