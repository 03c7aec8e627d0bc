//! Sizes of fasteners and of the holes for them.

use super::grade::HoleClass;
use crate::units::Length;

/// How wide a clearance hole is made.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub enum Clearance {
    /// ISO 273 fine (H12); ASME B18.2.8 close.
    Fine,
    /// ISO 273 medium (H13); ASME B18.2.8 normal.
    #[default]
    Medium,
    /// ISO 273 coarse (H14); ASME B18.2.8 loose.
    Coarse,
}

/// A plain washer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Washer {
    /// Hole in it.
    pub hole: Length,
    /// Across.
    pub outside: Length,
    /// Nominal thickness.
    pub thickness: Length,
}

/// A thread with the sizes that go with it.
///
/// Sources: clearance ISO 273:1979 and ASME B18.2.8 (inch values from memory); tapping drills
/// ISO 2306 for ISO 261 coarse pitch, and the usual drills for UNC (from memory); washers
/// ISO 7089:2000 and ISO 7093-1:2000; hexagon heads ISO 4014/4017.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Thread {
    row: &'static Row,
}

/// Why a thread was not understood.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("'{0}' is no thread in the tables: M3 to M24 coarse, or 1/4 to 1 inch UNC, as M10 or 3/8")]
pub struct NotAThread(pub String);

#[derive(Debug, PartialEq)]
struct Row {
    name: &'static str,
    /// Diameter, mm.
    d: f64,
    /// Fine, medium, coarse, mm.
    clearance: [f64; 3],
    /// Pitch and tapping drill, mm.
    tapping: (f64, f64),
    /// ISO 7089: hole, outside, thickness, mm.
    washer: Option<[f64; 3]>,
    /// ISO 7093-1.
    large: Option<[f64; 3]>,
    /// Across flats and height of a hexagon head, mm.
    head: Option<(f64, f64)>,
}

/// Across a plain cylindrical head with a socket, and its key, mm (ISO 4762:2004).
const SOCKET_HEADS: [(&str, f64, f64); 10] = [
    ("M3", 5.5, 2.5),
    ("M4", 7.0, 3.0),
    ("M5", 8.5, 4.0),
    ("M6", 10.0, 5.0),
    ("M8", 13.0, 6.0),
    ("M10", 16.0, 8.0),
    ("M12", 18.0, 10.0),
    ("M16", 24.0, 14.0),
    ("M20", 30.0, 17.0),
    ("M24", 36.0, 19.0),
];

/// A head that is turned by a key in it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SocketHead {
    /// Across the head.
    pub across: Length,
    /// The key.
    pub key: Length,
}

impl Clearance {
    /// Its tolerance class (ISO 273:1979, informative; the same for inch holes is common practice, no
    /// source).
    #[must_use]
    pub const fn class(self) -> HoleClass {
        match self {
            Self::Fine => HoleClass::H12,
            Self::Medium => HoleClass::H13,
            Self::Coarse => HoleClass::H14,
        }
    }
}

const IN: f64 = 25.4;

macro_rules! metric {
    ($name:literal $d:literal, $fine:literal $medium:literal $coarse:literal, $p:literal $drill:literal,
     $washer:expr, $large:expr, $head:expr) => {
        Row {
            name: $name,
            d: $d,
            clearance: [$fine, $medium, $coarse],
            tapping: ($p, $drill),
            washer: $washer,
            large: $large,
            head: $head,
        }
    };
}
macro_rules! inch {
    ($name:literal $d:literal, $close:literal $normal:literal $loose:literal, $per_inch:literal $drill:literal) => {
        Row {
            name: $name,
            d: $d * IN,
            clearance: [$close * IN, $normal * IN, $loose * IN],
            tapping: (IN / $per_inch, $drill * IN),
            washer: None,
            large: None,
            head: None,
        }
    };
}

#[rustfmt::skip]
const ROWS: [Row; 22] = [
    metric!("M3" 3.0, 3.2 3.4 3.6, 0.5 2.5, Some([3.2, 7.0, 0.5]), Some([3.2, 9.0, 0.8]), Some((5.5, 2.0))),
    metric!("M4" 4.0, 4.3 4.5 4.8, 0.7 3.3, Some([4.3, 9.0, 0.8]), Some([4.3, 12.0, 1.0]), Some((7.0, 2.8))),
    metric!("M5" 5.0, 5.3 5.5 5.8, 0.8 4.2, Some([5.3, 10.0, 1.0]), Some([5.3, 15.0, 1.0]), Some((8.0, 3.5))),
    metric!("M6" 6.0, 6.4 6.6 7.0, 1.0 5.0, Some([6.4, 12.0, 1.6]), Some([6.4, 18.0, 1.6]), Some((10.0, 4.0))),
    metric!("M8" 8.0, 8.4 9.0 10.0, 1.25 6.8, Some([8.4, 16.0, 1.6]), Some([8.4, 24.0, 2.0]), Some((13.0, 5.3))),
    metric!("M10" 10.0, 10.5 11.0 12.0, 1.5 8.5, Some([10.5, 20.0, 2.0]), Some([10.5, 30.0, 2.5]), Some((16.0, 6.4))),
    metric!("M12" 12.0, 13.0 13.5 14.5, 1.75 10.2, Some([13.0, 24.0, 2.5]), Some([13.0, 37.0, 3.0]), Some((18.0, 7.5))),
    metric!("M14" 14.0, 15.0 15.5 16.5, 2.0 12.0, None, None, None),
    metric!("M16" 16.0, 17.0 17.5 18.5, 2.0 14.0, Some([17.0, 30.0, 3.0]), Some([17.0, 50.0, 3.0]), Some((24.0, 10.0))),
    metric!("M18" 18.0, 19.0 20.0 21.0, 2.5 15.5, None, None, None),
    metric!("M20" 20.0, 21.0 22.0 24.0, 2.5 17.5, Some([21.0, 37.0, 3.0]), Some([22.0, 60.0, 4.0]), Some((30.0, 12.5))),
    metric!("M22" 22.0, 23.0 24.0 26.0, 2.5 19.5, None, None, None),
    metric!("M24" 24.0, 25.0 26.0 28.0, 3.0 21.0, Some([25.0, 44.0, 4.0]), None, Some((36.0, 15.0))),
    inch!("1/4-20 UNC" 0.25, 0.266 0.281 0.297, 20.0 0.201),
    inch!("5/16-18 UNC" 0.3125, 0.328 0.344 0.359, 18.0 0.257),
    inch!("3/8-16 UNC" 0.375, 0.391 0.406 0.422, 16.0 0.3125),
    inch!("7/16-14 UNC" 0.4375, 0.453 0.469 0.484, 14.0 0.368),
    inch!("1/2-13 UNC" 0.5, 0.531 0.562 0.609, 13.0 0.4219),
    inch!("5/8-11 UNC" 0.625, 0.656 0.688 0.734, 11.0 0.5312),
    inch!("3/4-10 UNC" 0.75, 0.781 0.812 0.906, 10.0 0.6562),
    inch!("7/8-9 UNC" 0.875, 0.906 0.938 1.031, 9.0 0.7656),
    inch!("1-8 UNC" 1.0, 1.031 1.094 1.156, 8.0 0.875),
];

/// Preferred lengths of screws and bolts, mm (ISO 888 as used by ISO 4014 and ISO 4017).
const LENGTHS: [f64; 24] = [
    12.0, 16.0, 20.0, 25.0, 30.0, 35.0, 40.0, 45.0, 50.0, 55.0, 60.0, 65.0, 70.0, 80.0, 90.0,
    100.0, 110.0, 120.0, 130.0, 140.0, 150.0, 160.0, 180.0, 200.0,
];

impl Thread {
    /// From what stands on the drawing: `M10`, `m10 x 1.5`, `3/8`, `3/8-16`.
    ///
    /// # Errors
    /// [`NotAThread`].
    pub fn named(text: &str) -> Result<Self, NotAThread> {
        let plain: String = text
            .chars()
            .filter(|c| !c.is_whitespace() && *c != '"' && *c != '″')
            .collect::<String>()
            .to_uppercase()
            .replace('×', "X");
        let (size, pitch) = match plain.split_once(['X', '-']) {
            Some((size, rest)) => (size, Some(rest)),
            None => (plain.as_str(), None),
        };
        let found = ROWS.iter().find(|row| {
            let own = row.name.split(['-', ' ']).next().unwrap_or(row.name);
            own == size
        });
        let suits = |row: &Row| match pitch.map(|p| p.trim_end_matches("UNC")) {
            None | Some("") => true,
            Some(p) if row.name.starts_with('M') => p
                .parse::<f64>()
                .is_ok_and(|p| (p - row.tapping.0).abs() < 1e-9),
            Some(p) => p
                .parse::<f64>()
                .is_ok_and(|p| (IN / p - row.tapping.0).abs() < 1e-9),
        };
        found
            .filter(|row| suits(row))
            .map(|row| Self { row })
            .ok_or_else(|| NotAThread(text.chars().take(20).collect()))
    }

    /// Its name: `M10`, `3/8-16 UNC`.
    #[must_use]
    pub const fn name(self) -> &'static str {
        self.row.name
    }
    /// Greatest diameter of the bolt.
    #[must_use]
    pub const fn diameter(self) -> Length {
        Length::from_mm(self.row.d)
    }
    /// Diameter of the clearance hole.
    #[must_use]
    pub const fn clearance(self, how: Clearance) -> Length {
        let [fine, medium, coarse] = self.row.clearance;
        Length::from_mm(match how {
            Clearance::Fine => fine,
            Clearance::Medium => medium,
            Clearance::Coarse => coarse,
        })
    }
    /// Distance from thread to thread.
    #[must_use]
    pub const fn pitch(self) -> Length {
        Length::from_mm(self.row.tapping.0)
    }
    /// Drill before tapping.
    #[must_use]
    pub const fn tapping_drill(self) -> Length {
        Length::from_mm(self.row.tapping.1)
    }
    /// The ordinary washer (ISO 7089).
    #[must_use]
    pub fn washer(self) -> Option<Washer> {
        self.row.washer.map(washer)
    }
    /// The large washer, three times the thread across (ISO 7093-1): preferred on laminates.
    #[must_use]
    pub fn large_washer(self) -> Option<Washer> {
        self.row.large.map(washer)
    }
    /// The cylindrical head with a socket.
    #[must_use]
    pub fn socket_head(self) -> Option<SocketHead> {
        let found = SOCKET_HEADS.iter().find(|(name, ..)| *name == self.name());
        found.map(|(_, across, key)| SocketHead {
            across: Length::from_mm(*across),
            key: Length::from_mm(*key),
        })
    }
    /// Room that a socket needs round a hexagon head: across its corners.
    #[must_use]
    pub fn socket_room(self) -> Option<Length> {
        let across = self.row.head.map(|(s, _)| s)?;
        Some(Length::from_mm(across * 2.0 / libm::sqrt(3.0)))
    }
}

const fn washer([hole, outside, thickness]: [f64; 3]) -> Washer {
    Washer {
        hole: Length::from_mm(hole),
        outside: Length::from_mm(outside),
        thickness: Length::from_mm(thickness),
    }
}

/// No standard screw is that long.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error(
    "a screw of {:.0} mm would be needed and the longest standard one is 200 mm: use threaded rod, or sink the head",
    .needed.mm()
)]
pub struct LongerThanStandard {
    /// What would be needed.
    pub needed: Length,
}

/// The next standard screw not shorter than this.
///
/// # Errors
/// [`LongerThanStandard`] above 200 mm.
pub fn next_length(needed: Length) -> Result<Length, LongerThanStandard> {
    LENGTHS
        .into_iter()
        .find(|l| *l >= needed.mm() - 1e-9)
        .map(Length::from_mm)
        .ok_or(LongerThanStandard { needed })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn thread(name: &str) -> Thread {
        Thread::named(name).unwrap_or(Thread { row: &ROWS[0] })
    }

    #[test]
    fn clearance_holes_as_iso_273() {
        // CHECKS G1. M12 is where one open parts library differs from the standard.
        for (name, all) in [
            ("M3", [3.2, 3.4, 3.6]),
            ("M8", [8.4, 9.0, 10.0]),
            ("M10", [10.5, 11.0, 12.0]),
            ("M12", [13.0, 13.5, 14.5]),
            ("M16", [17.0, 17.5, 18.5]),
            ("M24", [25.0, 26.0, 28.0]),
        ] {
            let t = thread(name);
            assert_eq!(t.name(), name);
            let got = [Clearance::Fine, Clearance::Medium, Clearance::Coarse]
                .map(|c| t.clearance(c).mm());
            let same = got.iter().zip(all).all(|(g, a)| (g - a).abs() < 1e-9);
            assert!(same, "{name}: {got:?}");
        }
    }

    #[test]
    fn tapping_drills_are_near_diameter_less_pitch() {
        // CHECKS G7: d − P to a standard drill (ISO 2306); UNC to 77 % of thread, within 0.4 mm.
        for row in &ROWS {
            let t = Thread { row };
            let plain = t.diameter().mm() - t.pitch().mm();
            let off = (t.tapping_drill().mm() - plain).abs();
            assert!(
                off <= if row.name.starts_with('M') { 0.06 } else { 0.4 },
                "{}",
                row.name
            );
        }
        assert!((thread("M12").tapping_drill().mm() - 10.2).abs() < 1e-9);
    }

    #[test]
    fn every_hole_takes_its_bolt_and_widens() {
        for row in &ROWS {
            let [fine, medium, coarse] = row.clearance;
            assert!(
                row.d < fine && fine < medium && medium < coarse,
                "{}",
                row.name
            );
        }
    }

    #[test]
    fn washers_and_socket_room() {
        // CHECKS G3, G4, G5: M10 18.48 across corners.
        let large = thread("M10").large_washer();
        assert_eq!(
            large.map(|w| (w.outside.mm(), w.thickness.mm())),
            Some((30.0, 2.5))
        );
        assert_eq!(thread("M10").washer().map(|w| w.outside.mm()), Some(20.0));
        // CHECKS G6 (ISO 4762): M10 16 across, key 8; M24 36 and 19; nothing for inch threads.
        let head = |name: &str| {
            thread(name)
                .socket_head()
                .map(|h| (h.across.mm(), h.key.mm()))
        };
        assert_eq!(
            (head("M10"), head("M24")),
            (Some((16.0, 8.0)), Some((36.0, 19.0)))
        );
        assert_eq!(head("3/8"), None);
        // CHECKS G2: H12, H13, H14.
        let classes =
            [Clearance::Fine, Clearance::Medium, Clearance::Coarse].map(|c| c.class().words());
        assert_eq!(classes, ["H12", "H13", "H14"]);
        let room = thread("M10").socket_room().map_or(0.0, Length::mm);
        assert!((room - 18.475).abs() < 0.01, "{room}");
    }

    #[test]
    fn screws_come_in_steps() {
        // CHECKS G9: 75 is not a preferred length.
        assert_eq!(next_length(Length::from_mm(70.5)).map(Length::mm), Ok(80.0));
        assert_eq!(next_length(Length::from_mm(70.0)).map(Length::mm), Ok(70.0));
        assert!(next_length(Length::from_mm(201.0)).is_err());
    }

    #[test]
    fn threads_are_read_as_they_are_written() {
        for (text, name) in [
            ("m10", "M10"),
            ("M10 x 1.5", "M10"),
            ("3/8\"", "3/8-16 UNC"),
            ("3/8-16", "3/8-16 UNC"),
        ] {
            assert_eq!(Thread::named(text).map(Thread::name), Ok(name));
        }
        for bad in ["", "M7", "M10 x 1.25", "10", "M10000"] {
            assert!(Thread::named(bad).is_err(), "{bad}");
        }
    }
}
