//! The side view as plain geometry, true to scale: seen from the figure's left, the front at the left.

use samespot_core::prepare::seat::{PadView, SeatView};

/// How wide the picture is, px; as high as what it shows.
pub(super) const WIDE: f64 = 560.0;
/// No higher than this, px.
const HIGHEST: f64 = 520.0;

/// Left free at either side, px: the base goes on a little, and the figure of the outermost dimension
/// stands beside it.
const SIDE: f64 = 44.0;
/// Half as high as a letter's box, px.
const LABEL_HALF: f64 = 15.0;

/// One pad as it stands in the side view.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct PadMark {
    /// Its corners.
    pub(super) corners: [[f64; 2]; 4],
    /// The middle of it.
    pub(super) at: [f64; 2],
    /// Its letters; pads behind one another share a mark.
    pub(super) letters: String,
    /// Where they stand.
    pub(super) label: [f64; 2],
}

/// One locating dimension.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Dimension {
    /// From the base.
    pub(super) foot: [f64; 2],
    /// To the figure.
    pub(super) mark: [f64; 2],
    /// Its letters; stations behind one another share one.
    pub(super) letters: String,
}

/// The drawing.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Scene {
    /// How high it is, px.
    pub(super) high: f64,
    /// Where the figure is cut short.
    pub(super) cut: f64,
    /// px for each mm.
    pub(super) scale: f64,
    /// The top of the base.
    pub(super) base: Vec<[f64; 2]>,
    /// Its sides, cut short below.
    pub(super) sides: [[f64; 2]; 2],
    /// The underside of the figure.
    pub(super) under: Vec<[f64; 2]>,
    /// The figure's sides, only as far as its marks say.
    pub(super) body: Vec<Vec<[f64; 2]>>,
    /// Pads.
    pub(super) pads: Vec<PadMark>,
    /// Dimensions, front first.
    pub(super) dimensions: Vec<Dimension>,
    /// The centre line's x.
    pub(super) middle: f64,
}

/// The top of a base in the side view: a ball's outline where the pads lie on one; else the flanks its
/// pads lie on, which meet in a ridge or a valley; else level.
#[derive(Debug, Clone, PartialEq)]
enum Top {
    Ball { radius: f64, centre: f64 },
    Flanks { flanks: Vec<Flank>, valley: bool },
    Level { height: f64 },
}

/// A flank as it is seen from the side: a pad's place behind the middle, its height, and by how much the
/// base falls from there for each mm further back.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Flank {
    back: f64,
    height: f64,
    falls: f64,
}

impl Flank {
    fn at(self, back: f64, raised: f64) -> f64 {
        self.height + raised * self.falls.hypot(1.0) - self.falls * (back - self.back)
    }
}

/// A ball falls straight outwards from its middle under every pad, give or take this, degrees.
const OUTWARDS_DEG: f64 = 15.0;
/// Pads of one ball agree on its middle within this share of its radius.
const ALIKE: f64 = 0.05;

impl Top {
    fn of(view: &SeatView) -> Self {
        let tops: Vec<f64> = view.pads.iter().filter_map(|p| Some(p.top?.mm())).collect();
        let height = tops.iter().sum::<f64>() / tops.len().max(1) as f64;
        Self::ball(view)
            .or_else(|| Self::flanks(view))
            .unwrap_or(Self::Level { height })
    }

    fn ball(view: &SeatView) -> Option<Self> {
        let of = |p: &PadView| {
            let slope = p.slope_deg.to_radians();
            let outwards = p.back.mm().atan2(p.across.mm()).to_degrees();
            let off = (p.falls_deg - outwards + 540.0).rem_euclid(360.0) - 180.0;
            let radius = p.across.mm().hypot(p.back.mm()) / slope.sin();
            (p.slope_deg > 1.0 && off.abs() < OUTWARDS_DEG)
                .then(|| Some((radius, p.top?.mm() - radius * slope.cos())))?
        };
        let balls: Vec<(f64, f64)> = view.pads.iter().map(of).collect::<Option<_>>()?;
        let n = balls.len() as f64;
        let radius = balls.iter().map(|b| b.0).sum::<f64>() / n;
        let centre = balls.iter().map(|b| b.1).sum::<f64>() / n;
        let alike = |b: &(f64, f64)| {
            (b.0 - radius).abs() < ALIKE * radius && (b.1 - centre).abs() < ALIKE * radius
        };
        (!balls.is_empty() && balls.iter().all(alike)).then_some(Self::Ball { radius, centre })
    }

    fn flanks(view: &SeatView) -> Option<Self> {
        let of = |p: &PadView| {
            let slope = p.slope_deg.to_radians().tan();
            Some(Flank {
                back: p.back.mm(),
                height: p.top?.mm(),
                falls: slope * p.falls_deg.to_radians().sin(),
            })
        };
        let flanks: Vec<Flank> = view.pads.iter().map(of).collect::<Option<_>>()?;
        if flanks.is_empty() || view.pads.iter().all(|p| p.slope_deg <= 1.0) {
            return None;
        }
        // Every pad lies on the ridge's line where no other flank runs under it.
        let under = |f: &Flank| flanks.iter().any(|o| o.at(f.back, 0.0) < f.height - 1.0);
        let valley = flanks.iter().any(under);
        Some(Self::Flanks { flanks, valley })
    }

    /// Height at a place behind the middle, raised square to the surface.
    fn at(&self, back: f64, raised: f64) -> f64 {
        match self {
            Self::Ball { radius, centre } => {
                let r = radius + raised;
                centre + (r * r - back * back).max(0.0).sqrt()
            }
            Self::Flanks { flanks, valley } => {
                let all = flanks.iter().map(|f| f.at(back, raised));
                if *valley {
                    all.fold(f64::MIN, f64::max)
                } else {
                    all.fold(f64::MAX, f64::min)
                }
            }
            Self::Level { height } => height + raised,
        }
    }

    /// The lowest and the highest it comes between two places.
    fn between(&self, from: f64, to: f64) -> (f64, f64) {
        let steps = (0..=60).map(|i| self.at(from + (to - from) * f64::from(i) / 60.0, 0.0));
        steps.fold((f64::MAX, f64::MIN), |(low, top), z| {
            (low.min(z), top.max(z))
        })
    }
}

/// The picture of a seat; nothing before its heights are known.
pub(super) fn scene(view: &SeatView) -> Option<Scene> {
    let feet: Vec<[f64; 2]> = view
        .stations
        .iter()
        .filter_map(|s| Some([s.foot?.mm(), s.mark?.mm()]))
        .collect();
    let shims: Vec<f64> = view
        .pads
        .iter()
        .filter_map(|p| Some(p.shim?.mm()))
        .collect();
    if feet.len() != view.stations.len() || shims.len() != view.pads.len() || shims.is_empty() {
        return None;
    }
    let top = Top::of(view);
    let bed = shims.iter().sum::<f64>() / shims.len() as f64;
    let far = |of: f64, b: f64| if b.abs() > of { b.abs() } else { of };
    let pad_reach = view.pads.iter().map(|p| p.back.mm()).fold(40.0, far);
    let backs = view.stations.iter().map(|s| s.back.mm());
    let reach = backs.fold(pad_reach.max(60.0), far);
    let edge = view
        .edge
        .map_or(pad_reach * 1.2, |e| e.mm())
        .min(reach * 1.15);
    let half = reach * 1.18;
    let (low, crest) = top.between(-half, half);
    let highest = feet.iter().map(|f| f[1]).fold(crest, f64::max) + 45.0;
    let lowest = feet.iter().map(|f| f[0]).fold(low, f64::min) - 28.0;
    // Room for the figures and letters of dimensions at either side, and for words above and below.
    let scale = ((WIDE - 2.0 * SIDE) / (2.0 * half)).min((HIGHEST - 60.0) / (highest - lowest));
    let high = 60.0 + (highest - lowest) * scale;
    let px = |back: f64, z: f64| {
        [
            WIDE / 2.0 + back * scale,
            high - 40.0 - (z - lowest) * scale,
        ]
    };
    let run = |from: f64, to: f64, raised: f64| -> Vec<[f64; 2]> {
        (0..=60)
            .map(|i| {
                let back = from + (to - from) * f64::from(i) / 60.0;
                px(back, top.at(back, raised))
            })
            .collect()
    };
    let mut pads: Vec<PadMark> = Vec::new();
    for (i, pad) in view.pads.iter().enumerate() {
        let (back, shim) = (pad.back.mm(), shims[i]);
        let here = px(back, top.at(back, shim / 2.0));
        let letters = crate::say::seat::pad_letter(i);
        if let Some(same) = pads.iter_mut().find(|p| (p.at[0] - here[0]).abs() < 14.0) {
            same.letters.push_str(&format!(", {letters}"));
            continue;
        }
        let wide = 9.0;
        let corner = |by: f64, raised: f64| px(back + by, top.at(back + by, raised));
        pads.push(PadMark {
            corners: [
                corner(-wide, 0.0),
                corner(wide, 0.0),
                corner(wide, shim),
                corner(-wide, shim),
            ],
            at: here,
            letters,
            label: [
                here[0] + if back < 0.0 { 30.0 } else { -76.0 },
                (here[1] + 66.0).min(high - LABEL_HALF),
            ],
        });
    }
    let mut dimensions: Vec<Dimension> = Vec::new();
    for (i, station) in view.stations.iter().enumerate() {
        let back = station.back.mm();
        let (foot, mark) = (px(back, feet[i][0]), px(back, feet[i][1]));
        let letters = crate::say::seat::station_letter(i);
        if let Some(same) = dimensions
            .iter_mut()
            .find(|d| (d.foot[0] - foot[0]).abs() < 14.0)
        {
            same.letters.push_str(&format!(", {letters}"));
            continue;
        }
        dimensions.push(Dimension {
            foot,
            mark,
            letters,
        });
    }
    dimensions.sort_by(|a, b| a.foot[0].total_cmp(&b.foot[0]));
    let cut = px(0.0, highest - 12.0)[1];
    let side = |front: bool| {
        let at = if front { -edge } else { edge };
        let mut line = vec![px(at, top.at(at, bed))];
        let outer = dimensions
            .iter()
            .filter(|d| (d.foot[0] < WIDE / 2.0) == front);
        let end = outer.fold(None, |best: Option<[f64; 2]>, d| match best {
            Some(b) if (b[0] - WIDE / 2.0).abs() > (d.mark[0] - WIDE / 2.0).abs() => Some(b),
            _ => Some(d.mark),
        });
        // The figure goes at least as far out as the mark on it.
        if let Some(mark) = end
            && (mark[0] - WIDE / 2.0).abs() > edge * scale
        {
            line.push(mark);
        }
        let x = line.last().map_or(0.0, |p| p[0]);
        line.push([x, cut]);
        line
    };
    let (left, right) = (px(-half, top.at(-half, 0.0)), px(half, top.at(half, 0.0)));
    Some(Scene {
        high,
        cut,
        scale,
        base: run(-half, half, 0.0),
        sides: [left, right],
        under: run(-edge, edge, bed),
        body: vec![side(true), side(false)],
        pads,
        dimensions,
        middle: WIDE / 2.0,
    })
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use samespot_core::answer::{Ask, Desk, Reply, Request, answer};
    use samespot_core::job::PieceId;

    fn view(piece: &str) -> SeatView {
        let file = include_bytes!("../../../../public/examples/quay-puffins.samespot");
        let mut desk = Desk::default();
        let job = desk.take(samespot_core::read::job::open(file).unwrap());
        let ask = Ask::Seat {
            job,
            piece: PieceId::new(piece).unwrap(),
            joint: None,
        };
        match answer(&mut desk, Request { number: 1, ask }).says.unwrap() {
            Reply::Seat(view) => *view,
            other => unreachable!("{other:?}"),
        }
    }

    #[test]
    fn the_picture_is_true_to_scale() {
        let scene = scene(&view("p7")).unwrap();
        for d in &scene.dimensions {
            let mm = (d.foot[1] - d.mark[1]) / scene.scale;
            assert!((mm - 96.0).abs() < 0.01, "{mm}");
        }
        // The cap is a ball of 240 mm: over the pads at 45 and 75 mm it falls by that circle.
        let apart = (scene.pads[0].at[1] - scene.pads[1].at[1]).abs() / scene.scale;
        let r = 240.0_f64 + 2.0;
        let want = (r * r - 45.0 * 45.0).sqrt() - (r * r - 75.0 * 75.0).sqrt();
        assert!((apart - want).abs() < 1.0, "{apart} {want}");
        // Front left and front right are one behind the other.
        assert_eq!(scene.pads[0].letters, "P1, P2");
        assert_eq!(scene.dimensions[1].letters, "S2, S3");
    }

    /// A ridge that runs across, its flanks 20° off level: two straight lines that meet in the middle,
    /// not a dome; turned round, a valley.
    #[test]
    fn a_ridge_is_drawn_as_a_ridge() {
        use samespot_core::units::Length;
        let mut ridge = view("p7");
        let slope = 20.0_f64.to_radians().tan();
        for (i, pad) in ridge.pads.iter_mut().enumerate() {
            let back = if i < 2 { -60.0 } else { 50.0 };
            (pad.back, pad.slope_deg) = (Length::from_mm(back), 20.0);
            pad.falls_deg = if back < 0.0 { -90.0 } else { 90.0 };
            pad.top = Some(Length::from_mm(100.0 - slope * back.abs()));
        }
        let top = Top::of(&ridge);
        for back in [-80.0_f64, -20.0, 0.0, 35.0, 80.0] {
            let want = 100.0 - slope * back.abs();
            assert!((top.at(back, 0.0) - want).abs() < 1e-6, "{back} {top:?}");
        }
        // Raised square to a flank: by 1/cos more upwards.
        let up = top.at(40.0, 3.0) - top.at(40.0, 0.0);
        assert!((up - 3.0 / 20.0_f64.to_radians().cos()).abs() < 1e-6);
        for pad in &mut ridge.pads {
            pad.falls_deg = -pad.falls_deg;
            pad.top = pad.top.map(|t| Length::from_mm(200.0 - t.mm()));
        }
        let valley = Top::of(&ridge);
        assert!((valley.at(80.0, 0.0) - (100.0 + slope * 80.0)).abs() < 1e-6);
        assert!((valley.at(0.0, 0.0) - 100.0).abs() < 1e-6);
    }

    #[test]
    fn pads_further_out_than_the_stations_stay_inside() {
        use samespot_core::units::Length;
        let mut wide = view("p7");
        for pad in &mut wide.pads {
            pad.back = pad.back * 4.0;
            (pad.slope_deg, pad.top) = (0.0, Some(Length::from_mm(100.0)));
        }
        let scene = scene(&wide).unwrap();
        let corners = scene.pads.iter().flat_map(|p| p.corners);
        assert!(corners.into_iter().all(|[x, _]| (0.0..=WIDE).contains(&x)));
        assert!(scene.pads.iter().all(|p| p.label[1] <= scene.high));
    }

    #[test]
    fn everything_stays_inside_the_picture() {
        for piece in ["p1", "p9", "p17"] {
            let scene = scene(&view(piece)).unwrap();
            let inside =
                |p: &[f64; 2]| (0.0..=WIDE).contains(&p[0]) && (0.0..=scene.high).contains(&p[1]);
            assert!(scene.base.iter().chain(&scene.under).all(inside));
            assert!(scene.body.iter().flatten().all(inside));
            assert!(scene.pads.iter().all(|p| inside(&p.label)));
            assert!(
                scene
                    .dimensions
                    .iter()
                    .all(|d| inside(&d.foot) && inside(&d.mark))
            );
        }
        assert_eq!(scene(&view("p18")), None);
    }
}
