//! The seat: the figure's place from readings, its bed, and which base it goes on.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that fails here should stop here"
)]

mod seat {
    mod bedding;
    mod outside;
    mod pairs;
    mod properties;
    mod scipy;

    use nalgebra::Matrix3;
    use samespot_core::frames::{Base, Figure, Point3, Rigid3, Vector3};
    use samespot_core::seat::{Holds, Locator};
    use samespot_core::units::Length;

    pub(super) fn mm(v: f64) -> Length {
        Length::from_mm(v)
    }
    pub(super) fn on_base(p: [f64; 3]) -> Point3<Base> {
        Point3::from_mm(p[0], p[1], p[2])
    }
    pub(super) fn on_figure(p: [f64; 3]) -> Point3<Figure> {
        Point3::from_mm(p[0], p[1], p[2])
    }
    pub(super) fn way(p: [f64; 3]) -> Vector3<Base> {
        Vector3::from_mm(p[0], p[1], p[2])
    }
    pub(super) fn as_drawn() -> Rigid3<Base, Figure> {
        Rigid3::new(Matrix3::identity(), on_base([0.0; 3])).unwrap()
    }
    pub(super) fn locator(name: &str, holds: Holds, reads: f64) -> Locator {
        Locator {
            name: name.into(),
            holds,
            reads: mm(reads),
            within: mm(1.0),
        }
    }
    pub(super) fn gap(
        name: &str,
        p: [f64; 3],
        face: [f64; 3],
        normal: [f64; 3],
        reads: f64,
    ) -> Locator {
        let holds = Holds::Gap {
            on: on_figure(p),
            face: on_base(face),
            normal: way(normal),
        };
        locator(name, holds, reads)
    }
    /// A stop of the base against a face of the figure; a longer stop pushes the figure along `push`.
    pub(super) fn stop(name: &str, p: [f64; 3], push: [f64; 3], longer: f64) -> Locator {
        let holds = Holds::Stop {
            on: on_base(p),
            face: on_figure(p),
            normal: Vector3::from_mm(-push[0], -push[1], -push[2]),
        };
        locator(name, holds, longer)
    }
    pub(super) fn close(got: f64, want: f64, within: f64) {
        assert!(
            (got - want).abs() <= within,
            "{got} is not {want} within {within}"
        );
    }
}
