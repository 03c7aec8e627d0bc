//! Three hard points, filler between.

use super::{as_drawn, close, mm, on_base, on_figure, way};
use nalgebra::Vector3;
use samespot_core::seat::{Bed, BedFlag, Bedded, Pad, Station, bed, lean};

const PADS: [[f64; 2]; 3] = [[-50.0, -40.0], [50.0, -40.0], [0.0, 60.0]];
const STATIONS: [[f64; 2]; 3] = [[-90.0, -60.0], [90.0, -60.0], [0.0, 110.0]];

/// Level pads at height 0 under a flat figure that was measured `gaps` above them, with stations
/// whose ends were measured `read` apart.
fn level(gaps: [f64; 3], read: [f64; 3]) -> Bed {
    Bed {
        pads: (0..3)
            .map(|i| Pad {
                name: format!("P{}", i + 1),
                on_base: on_base([PADS[i][0], PADS[i][1], 0.0]),
                normal: way([0.0, 0.0, 1.0]),
                on_figure: on_figure([PADS[i][0], PADS[i][1], gaps[i]]),
            })
            .collect(),
        stations: (0..3)
            .map(|i| Station {
                name: format!("S{}", i + 1),
                on_base: on_base([STATIONS[i][0], STATIONS[i][1], -20.0]),
                on_figure: on_figure([STATIONS[i][0], STATIONS[i][1], -20.0 + read[i]]),
                locating: mm(96.0),
                within: mm(0.5),
            })
            .collect(),
        up: way([0.0, 0.0, 1.0]),
        trial: as_drawn(),
        least: mm(2.0),
        greatest: mm(6.0),
        finished_layers: mm(0.4),
    }
}

fn shims(bedded: &Bedded) -> [f64; 3] {
    [0, 1, 2].map(|i| bedded.shims[i].mm())
}

/// By hand: 1.5 mm short at every station, so every pad comes up by 1.5; paint takes 0.4.
#[test]
fn a_figure_too_low_comes_up_on_its_shims() {
    let bedded = bed(&level([3.0, 4.0, 5.5], [94.5; 3])).unwrap();
    assert!(bedded.outcome.seated().is_some());
    for (got, want) in shims(&bedded).into_iter().zip([4.1, 5.1, 6.6]) {
        close(got, want, 1e-9);
    }
    assert_eq!(
        bedded.flags,
        [BedFlag::Fits, BedFlag::Fits, BedFlag::TooThick]
    );
    // Paint of 0.4 comes later, film of 0.1 is there now: on level pads stations read 0.3 less.
    let one = level([3.0, 4.0, 5.5], [94.5; 3]);
    for read in bedded.reads_with(&one, mm(0.1)).unwrap() {
        close(read.mm(), 95.7, 1e-9);
    }
    for read in bedded.reads_with(&one, mm(0.4)).unwrap() {
        close(read.mm(), 96.0, 1e-9);
    }
    let low = bed(&level([3.0, 4.0, 5.5], [97.5; 3])).unwrap();
    assert_eq!(low.flags, [BedFlag::DrySpot, BedFlag::Fits, BedFlag::Fits]);
}

/// A lean of 1 in 100 is taken out: by hand, the rise at a pad is that of the plane through the
/// three stations' errors (to second order in the lean).
#[test]
fn a_leaning_figure_is_set_upright() {
    let off = |x: f64, y: f64| 1.0 + 0.004 * x - 0.006 * y;
    let read = STATIONS.map(|[x, y]| 96.0 - off(x, y));
    let bedded = bed(&level([4.0; 3], read)).unwrap();
    for (got, [x, y]) in shims(&bedded).into_iter().zip(PADS) {
        close(got, 4.0 + off(x, y) - 0.4, 0.01);
    }
}

/// Astride a ridge of half-angle a, a rise of d opens each bed by d sin a (H4 the other way round).
#[test]
fn on_a_slope_the_bed_opens_less_than_the_rise() {
    let mut on_slopes = level([4.0; 3], [95.0; 3]);
    let (s, c) = 50.0_f64.to_radians().sin_cos();
    for (pad, side) in on_slopes.pads.iter_mut().zip([1.0, -1.0]) {
        pad.normal = way([side * c, 0.0, s]);
        let up: Vector3<f64> = pad.normal.mm() * 4.0 + pad.on_base.mm();
        pad.on_figure = on_figure([up.x, up.y, up.z]);
    }
    let bedded = bed(&on_slopes).unwrap();
    close(shims(&bedded)[0], 4.0 + s - 0.4, 1e-9);
    close(shims(&bedded)[1], 4.0 + s - 0.4, 1e-9);
    close(shims(&bedded)[2], 5.0 - 0.4, 1e-9);
}

/// A thicker shim lifts what stands over it by the lever rule of three legs.
#[test]
fn what_a_shim_moves() {
    let one = level([4.0; 3], [96.0; 3]);
    let bedded = bed(&one).unwrap();
    let standing = bedded.lifts(&one).unwrap();
    // Barycentric weights of a place over the triangle of pads.
    let over = |x: f64, y: f64| {
        let back = (y + 40.0) / 100.0;
        let right = (x + 50.0 - 50.0 * back) / 100.0;
        [1.0 - back - right, right, back]
    };
    for [x, y] in [[0.0, 0.0], [30.0, 90.0], [-80.0, -70.0]] {
        let up: Vec<f64> = (0..3)
            .map(|i| standing.moves(i, on_figure([x, y, 300.0])).mm().z)
            .collect();
        for (got, want) in up.iter().zip(over(x, y)) {
            close(*got, want, 1e-9);
        }
        close(up.iter().sum::<f64>(), 1.0, 1e-9);
    }
}

#[test]
fn lean_and_step_from_three_stations() {
    // 3 mm higher on the right than on the left over 180 mm: 0.955 degrees; the edge at 100 mm.
    let read = [
        ([-90.0, 0.0], mm(-1.5)),
        ([90.0, 0.0], mm(1.5)),
        ([0.0, 80.0], mm(0.0)),
    ];
    let found = lean(&read, mm(100.0)).unwrap();
    close(
        found.tilt.deg(),
        (3.0_f64 / 180.0).atan().to_degrees(),
        1e-9,
    );
    close(found.step.mm(), 200.0 * 3.0 / 180.0, 1e-9);
    close(found.high_towards.deg(), 0.0, 1e-9);
    close(found.high.mm(), 0.0, 1e-9);
    assert_eq!(lean(&read[..2], mm(100.0)), None);
    let line = [
        ([0.0, 0.0], mm(0.0)),
        ([10.0, 10.0], mm(1.0)),
        ([20.0, 20.0], mm(0.0)),
    ];
    assert_eq!(lean(&line, mm(100.0)), None);
}
