//! A picture laid flat at true size: what it shows of the plane of its known places, resampled
//! through the homography.

use super::PhotoError;
use super::grey::{self, Grey};
use super::homography::Homography;
use super::on_places::seen_through;
use super::view::{View, radius};
use crate::read::marked_picture::{MarkedError, MarkedPicture};
use crate::sheet::Greys;
use crate::sheet::drawing::Spot;
use kurbo::{Point, Rect};

/// 200 points an inch: finer nobody sees at arm's length on a workshop printer, µm.
const FINEST_UM: i32 = 127;
/// No more points than this on all sheets together: what a tablet holds, and half a square metre at
/// some 140 an inch.
const MOST_POINTS: f64 = 16.0e6;
/// What is shown goes on past the known places by this share of how far they reach: further out the
/// picture is only guessed.
const PAST: f64 = 1.5;
/// Black comes out as this, so that lines over it are seen.
const DARKEST: f64 = 96.0;
/// A point that stands for many of the picture is the mean of up to so many a side.
const MOST_SAMPLES: u32 = 6;

/// A picture laid flat.
#[derive(Debug, Clone)]
pub struct Flattened {
    /// The picture, its corner in the plane of the known places, µm.
    pub picture: Greys,
    /// How true it is amid the known places (95 %), mm.
    pub middle_within: f64,
    /// And at its worst corner.
    pub worst_within: f64,
    /// How far the fifth place is from where the four put it, and what was to be expected (95 %), mm.
    pub fifth: Option<[f64; 2]>,
    /// By so many places of a picture that is said to be taken square on.
    pub square_on: Option<usize>,
}

/// Why a picture is not laid flat.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum FlattenError {
    /// The file.
    #[error(transparent)]
    Photo(#[from] PhotoError),
    /// The known places.
    #[error(transparent)]
    Marked(#[from] MarkedError),
    /// A corner of a wall in a picture of a landscape.
    #[error(
        "what the picture shows of the known places is no larger than a point: see what was typed"
    )]
    Nothing,
}

/// Lays a picture flat.
///
/// # Errors
/// [`FlattenError`].
pub fn flattened(bytes: &[u8], places: &MarkedPicture) -> Result<Flattened, FlattenError> {
    let (view, fifth) = seen_through(places)?;
    let grey = grey::decode(bytes)?;
    let inverse = view.to_plane().inverse().ok_or(FlattenError::Nothing)?;
    let shown = shown(&view, places.high);
    let per_wide = 1000.0 / f64::from(u32::try_from(grey.wide).unwrap_or(u32::MAX).max(1));
    // One point of the picture amid the known places, mm.
    let amid = view
        .pictured(&inverse, view.middle())
        .ok_or(FlattenError::Nothing)?;
    let slope = view.to_plane().slope(amid).ok_or(FlattenError::Nothing)?;
    let own_mm = libm::sqrt(slope.determinant().abs()) * per_wide;
    let (wide_um, high_um) = (shown.width() * 1000.0, shown.height() * 1000.0);
    let least = libm::sqrt(wide_um * high_um / MOST_POINTS);
    // Finer than half a point of the picture there is nothing.
    let point = libm::ceil(least.max(own_mm * 500.0).max(f64::from(FINEST_UM)));
    let count = |um: f64| libm::floor(um / point);
    let (wide, high) = (count(wide_um), count(high_um));
    if !(wide >= 1.0 && high >= 1.0 && wide * high <= MOST_POINTS * 1.01) {
        return Err(FlattenError::Nothing);
    }
    let low_um = [
        libm::round(shown.x0 * 1000.0),
        libm::round(shown.y0 * 1000.0),
    ];
    let samples = libm::round(point / 1000.0 / own_mm.max(1e-9));
    let raster = Raster {
        view: &view,
        inverse: &inverse,
        grey: &grey,
        per_wide,
        point_mm: point / 1000.0,
        samples: whole(samples.clamp(1.0, f64::from(MOST_SAMPLES))),
    };
    let top_mm = low_um[1] / 1000.0 + high * point / 1000.0;
    let mut points = Vec::with_capacity(usize::try_from(whole(wide * high)).unwrap_or(0));
    for row in 0..whole(high) {
        for column in 0..whole(wide) {
            let left = low_um[0] / 1000.0 + f64::from(column) * raster.point_mm;
            let head = top_mm - f64::from(row) * raster.point_mm;
            points.push(raster.point(left, head));
        }
    }
    let corners = [
        Point::new(shown.x0, shown.y0),
        Point::new(shown.x1, shown.y0),
        Point::new(shown.x1, shown.y1),
        Point::new(shown.x0, shown.y1),
    ];
    let off = fifth.map_or(0.0, |[off, _]| off);
    let within = |at: Point| libm::hypot(radius(view.carried(at)), off);
    let picture = Greys {
        low: Spot::new(micro(low_um[0]), micro(low_um[1])),
        point_um: micro(point),
        wide: whole(wide),
        points: points.into(),
    };
    Ok(Flattened {
        picture,
        middle_within: within(view.middle()),
        worst_within: corners.into_iter().map(within).fold(0.0, f64::max),
        fifth,
        square_on: view.square_on(),
    })
}

/// A number that is whole and small by now.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a count of points"
)]
const fn whole(n: f64) -> u32 {
    n as u32
}

#[expect(clippy::cast_possible_truncation, reason = "a sheet's micrometres")]
const fn micro(um: f64) -> i32 {
    um as i32
}

/// What is shown: the picture as far as it goes, and no further than a way past the known places.
fn shown(view: &View, high: f64) -> Rect {
    let reach = view.scale * PAST;
    let m = view.middle();
    let most = Rect::new(m.x - reach, m.y - reach, m.x + reach, m.y + reach);
    // The picture's y runs up here.
    let corners = [(0.0, 0.0), (1000.0, 0.0), (1000.0, -high), (0.0, -high)];
    let mut all: Option<Rect> = None;
    for corner in corners {
        // A corner beyond the horizon: the picture goes on for ever that way.
        let Some(at) = view.place(Point::from(corner)) else {
            return most;
        };
        let own = Rect::from_points(at, at);
        all = Some(all.map_or(own, |a| a.union(own)));
    }
    all.map_or(most, |a| a.intersect(most))
}

struct Raster<'a> {
    view: &'a View,
    inverse: &'a Homography,
    grey: &'a Grey,
    /// Thousandths of the picture's width in a point of it.
    per_wide: f64,
    point_mm: f64,
    /// A side.
    samples: u32,
}

impl Raster<'_> {
    /// How bright the square is whose upper left corner is here, mm.
    fn point(&self, left: f64, head: f64) -> u8 {
        let n = f64::from(self.samples);
        let mut sum = 0.0;
        for i in 0..self.samples {
            for j in 0..self.samples {
                let across = (f64::from(i) + 0.5) / n * self.point_mm;
                let down = (f64::from(j) + 0.5) / n * self.point_mm;
                sum += self.at(Point::new(left + across, head - down));
            }
        }
        let bright = DARKEST + (255.0 - DARKEST) * sum / (n * n) / 255.0;
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "0 to 255"
        )]
        let point = libm::round(bright.clamp(0.0, 255.0)) as u8;
        point
    }

    /// How bright the picture is where it shows a place; white where it doesn't.
    fn at(&self, place: Point) -> f64 {
        let Some(p) = self.view.pictured(self.inverse, place) else {
            return 255.0;
        };
        self.grey
            .between(Point::new(p.x / self.per_wide, -p.y / self.per_wide))
    }
}
