//! A flat face set into a part by six contacts, as a datum system builds it.

use super::random::{close, point};
use nalgebra::{Matrix3, Vector3 as Column};
use samespot_core::frames::{Part, Point3, Rigid3};
use samespot_core::surface::{FlatFace, Shape};

/// B6. ISO 5459:2011, primary, secondary, tertiary: exact by construction (checks, row B6).
/// The face's plane is the primary datum; its points come where the row has them, with the
/// distances they had, and the mirrored axes are refused.
#[test]
fn six_contacts_carry_a_face() {
    let axes = Matrix3::new(2.0, -1.0, 2.0, 2.0, 2.0, -1.0, -1.0, 2.0, 2.0) / 3.0;
    let origin = Point3::<Part>::from_mm(10.0, -20.0, 30.0);
    let world_from_frame = Rigid3::<Part, Part>::new(axes, origin).unwrap();
    // The row's frame has its plane in x, y and its normal along z; a face's own frame has its
    // plane in y, z and faces +x: a turn of the axes.
    let frame_from_face = Rigid3::<Part, Part>::new(
        Matrix3::new(0.0, 1.0, 0.0, 0.0, 0.0, 1.0, 1.0, 0.0, 0.0),
        Point3::from_mm(0.0, 0.0, 0.0),
    )
    .unwrap();
    let world_from_face = world_from_frame.after(frame_from_face);
    #[track_caller]
    fn check(got: Point3<Part>, wanted: [f64; 3]) {
        for (got, wanted) in got.mm().iter().zip(wanted) {
            // The row prints nine decimals.
            close("coordinate", *got, wanted, 1e-9);
        }
    }
    let place = |u, v| world_from_face.point(FlatFace.jet(point(u, v)).unwrap().at);
    check(place(0.0, 0.0), [10.0, -20.0, 30.0]);
    check(
        place(100.0, 0.0),
        [76.666_666_666_667, 46.666_666_666_667, -3.333_333_333_333],
    );
    check(
        place(0.0, 100.0),
        [-23.333_333_333_333, 46.666_666_666_667, 96.666_666_666_667],
    );
    let target = Column::new(60.0, 30.0, 150.0);
    check(
        world_from_frame.point(Point3::from_column_mm(target)),
        [140.0, -10.0, 130.0],
    );
    let normal = world_from_face.vector(FlatFace.normal(point(0.0, 0.0)).unwrap());
    check(Point3::from_column_mm(normal.mm() * 3.0), [2.0, -1.0, 2.0]);
    let over = FlatFace
        .over_surface(point(100.0, 0.0), point(0.0, 100.0), 0)
        .unwrap()
        .mm;
    close(
        "kept distance",
        place(100.0, 0.0).distance(place(0.0, 100.0)).mm(),
        over,
        1e-12,
    );

    let mirrored = Matrix3::from_diagonal(&Column::new(-1.0, 1.0, 1.0));
    assert!(Rigid3::<Part, Part>::new(mirrored, origin).is_err());
}
