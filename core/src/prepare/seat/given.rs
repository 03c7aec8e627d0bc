//! What a joint says and what was read there, as the seat computes with it.

use super::SeatFrom;
use crate::frames::{Base, Figure, Point3, Rigid3, Vector3};
use crate::job::{
    Bedding, CastingId, Entry, Job, JointEdit, JointId, PartId, PieceId, SeatLayer, SeatRead,
    SeatReading, SeatSpot, SeatTool, SeatWhen, SpotId,
};
use crate::seat::{Bed, Pad, ReadWith, Station};
use crate::units::{Length, fixed_mm};

/// How far a joint's locating dimension may be out unless it says (common practice, no source).
const WITHIN: Length = Length::from_mm(2.0);
/// The bed between these unless the joint says (design/10, 1.2).
const LEAST: Length = Length::from_mm(2.0);
const GREATEST: Length = Length::from_mm(6.0);

/// Thickness between figure and base beside the filler.
#[derive(Debug, Clone, Copy)]
pub(super) struct Layers {
    pub(super) finished: Length,
    pub(super) bedding: Length,
    /// Cured, put together again before paint: what was there and stays.
    pub(super) cured: Length,
}

/// A joint as it is computed with.
#[derive(Debug)]
pub(super) struct Given {
    pub(super) id: JointId,
    pub(super) name: String,
    pub(super) base: PartId,
    pub(super) figure: PartId,
    pub(super) bedding: Option<Bedding>,
    pub(super) locating: Length,
    pub(super) within: Length,
    pub(super) least: Length,
    pub(super) greatest: Length,
    pub(super) edge: Option<Length>,
    pub(super) pads: Vec<SeatSpot>,
    pub(super) stations: Vec<SeatSpot>,
    pub(super) layers: Layers,
    named_layers: Vec<SeatLayer>,
}

/// A bed ready to be worked out.
#[derive(Debug)]
pub(super) struct Setting {
    pub(super) bed: Bed,
    pub(super) from: SeatFrom,
}

/// A casting by the number on it.
pub(super) fn casting_name(job: &Job, casting: &CastingId) -> String {
    job.castings
        .get(casting)
        .and_then(|c| c.number.clone())
        .unwrap_or_else(|| casting.to_string())
}

fn normal(spot: &SeatSpot) -> Vector3<Base> {
    let slope = spot.slope.map_or(0.0, |a| a.rad());
    let falls = spot.falls.map_or(0.0, |a| a.rad());
    let level = libm::sin(slope);
    Vector3::from_mm(
        level * libm::cos(falls),
        level * libm::sin(falls),
        libm::cos(slope),
    )
}

impl Given {
    /// Every joint that has pads and stations.
    pub(super) fn all(job: &Job) -> impl Iterator<Item = Self> {
        job.joints.iter().filter_map(|(id, j)| Self::whole(id, j))
    }

    /// The joint of this id, or the first; one named that is not set out is the first too.
    pub(super) fn of(job: &Job, named: Option<&JointId>) -> Option<Self> {
        named
            .and_then(|id| Self::whole(id, job.joints.get(id)?))
            .or_else(|| Self::all(job).next())
    }

    fn whole(id: &JointId, joint: &JointEdit) -> Option<Self> {
        let pads = joint.pads.clone().filter(|p| !p.is_empty())?;
        let stations = joint.stations.clone().filter(|s| !s.is_empty())?;
        let named_layers = joint.layers.clone().unwrap_or_default();
        let sum = |of: fn(&SeatLayer) -> bool| {
            let thick = named_layers.iter().filter(|l| of(l));
            Length::from_mm(thick.map(|l| l.thickness.mm()).sum())
        };
        Some(Self {
            id: id.clone(),
            name: joint.name.clone().unwrap_or_else(|| id.to_string()),
            base: joint.base.clone()?,
            figure: joint.figure.clone()?,
            bedding: joint.bedded,
            locating: joint.locating_dimension.as_ref()?.mm,
            within: joint.within.unwrap_or(WITHIN),
            least: joint.bed_least.unwrap_or(LEAST),
            greatest: joint.bed_greatest.unwrap_or(GREATEST),
            edge: joint.edge,
            layers: Layers {
                finished: sum(|l| l.finished),
                bedding: sum(|l| l.while_bedding),
                cured: sum(|l| l.finished && l.while_bedding),
            },
            pads,
            stations,
            named_layers,
        })
    }

    pub(super) fn layer_words(&self) -> Vec<String> {
        let when = |l: &SeatLayer| match (l.while_bedding, l.finished) {
            (true, true) => "there from the start",
            (true, false) => "only while bedding",
            (false, true) => "comes after bedding",
            (false, false) => "not in the joint",
        };
        let words =
            |l: &SeatLayer| format!("{} {} mm, {}", l.name, fixed_mm(l.thickness, 1), when(l));
        self.named_layers.iter().map(words).collect()
    }

    /// The casting of a part in a piece.
    pub(super) fn casting(&self, job: &Job, piece: &PieceId, part: &PartId) -> Option<CastingId> {
        job.casting_of(piece, part).cloned()
    }

    fn latest(&self, job: &Job, of: &SeatRead) -> Option<Entry> {
        self.newest(job, of).map(|r| r.value.clone())
    }

    fn newest<'j>(&self, job: &'j Job, of: &SeatRead) -> Option<&'j SeatReading> {
        let mut latest = job.seat_readings.about(&self.id).rev();
        let found = latest.find(|r| r.says.of == *of);
        found.map(|found| &found.says)
    }

    pub(super) fn height_read(
        &self,
        job: &Job,
        casting: &CastingId,
        spot: &SpotId,
    ) -> Option<Entry> {
        let of = SeatRead::Height {
            casting: casting.clone(),
            spot: spot.clone(),
        };
        self.latest(job, &of)
    }

    fn height(&self, job: &Job, casting: &CastingId, spot: &SpotId) -> Option<f64> {
        self.height_read(job, casting, spot).map(|e| e.mm.mm())
    }

    /// Pads then stations, each with its letter and name.
    pub(super) fn spots(&self) -> impl Iterator<Item = (&SeatSpot, String)> {
        let named = |letter: char| {
            move |(i, s): (usize, &SeatSpot)| format!("{letter}{}, {}", i + 1, s.name)
        };
        let pads = self
            .pads
            .iter()
            .enumerate()
            .map(move |p| (p.1, named('P')(p)));
        let stations = self
            .stations
            .iter()
            .enumerate()
            .map(move |p| (p.1, named('S')(p)));
        pads.chain(stations)
    }

    pub(super) fn gap_read(
        &self,
        job: &Job,
        piece: &PieceId,
        pad: &SpotId,
        when: SeatWhen,
    ) -> Option<Entry> {
        let of = SeatRead::Gap {
            piece: piece.clone(),
            pad: pad.clone(),
            when,
        };
        self.latest(job, &of)
    }

    pub(super) fn locating_read(
        &self,
        job: &Job,
        piece: &PieceId,
        station: &SpotId,
        when: SeatWhen,
    ) -> Option<Entry> {
        let of = SeatRead::Locating {
            piece: piece.clone(),
            station: station.clone(),
            when,
        };
        self.latest(job, &of)
    }

    /// How well that was read, one standard deviation.
    pub(super) fn locating_sd(
        &self,
        job: &Job,
        piece: &PieceId,
        station: &SpotId,
        when: SeatWhen,
    ) -> Length {
        let of = SeatRead::Locating {
            piece: piece.clone(),
            station: station.clone(),
            when,
        };
        let read = self.newest(job, &of);
        let with = match read.and_then(|r| r.tool) {
            None | Some(SeatTool::Rule) => ReadWith::Rule,
            Some(SeatTool::Tape) => ReadWith::Tape,
            Some(SeatTool::Stick) => ReadWith::Stick,
        };
        with.standard_uncertainty(read.map_or(self.locating, |r| r.value.mm))
    }

    /// Everything of a casting's heights, pads then stations; `None` where one is missing.
    pub(super) fn heights(&self, job: &Job, casting: &CastingId) -> Option<Vec<f64>> {
        let spots = self.pads.iter().chain(&self.stations);
        spots.map(|s| self.height(job, casting, &s.id)).collect()
    }

    /// The bed of a figure on a base by the heights of both.
    pub(super) fn bed_of(&self, base: &[f64], figure: &[f64]) -> Bed {
        let pads = self.pads.len();
        let on = |i: usize, spot: &SeatSpot| {
            let (x, y) = (spot.across.mm.mm(), spot.back.mm.mm());
            (
                Point3::<Base>::from_mm(x, y, base[i]),
                Point3::<Figure>::from_mm(x, y, figure[i]),
            )
        };
        let pad = |(i, spot): (usize, &SeatSpot)| {
            let (on_base, on_figure) = on(i, spot);
            self.pad(spot, on_base, on_figure)
        };
        let station = |(i, spot): (usize, &SeatSpot)| {
            let (on_base, on_figure) = on(pads + i, spot);
            // Heights over the board are read with a rule or stick on its foot.
            let within = ReadWith::Rule.standard_uncertainty(self.locating);
            self.station(spot, on_base, on_figure, within)
        };
        self.bed(
            self.pads.iter().enumerate().map(pad).collect(),
            self.stations.iter().enumerate().map(station).collect(),
        )
    }

    fn pad(&self, spot: &SeatSpot, on_base: Point3<Base>, on_figure: Point3<Figure>) -> Pad {
        Pad {
            name: spot.name.clone(),
            on_base,
            normal: normal(spot),
            on_figure,
        }
    }

    fn station(
        &self,
        spot: &SeatSpot,
        on_base: Point3<Base>,
        on_figure: Point3<Figure>,
        within: Length,
    ) -> Station {
        Station {
            name: spot.name.clone(),
            on_base,
            on_figure,
            locating: self.locating,
            within,
        }
    }

    fn bed(&self, pads: Vec<Pad>, stations: Vec<Station>) -> Bed {
        Bed {
            pads,
            stations,
            up: Vector3::from_mm(0.0, 0.0, 1.0),
            trial: Rigid3::laid_on(),
            least: self.least,
            greatest: self.greatest,
            finished_layers: self.layers.finished,
        }
    }

    /// The readings of the trial setting where they are all there, else the heights of both
    /// castings; else what is missing, in words.
    pub(super) fn setting(
        &self,
        job: &Job,
        piece: &PieceId,
        base: Option<&CastingId>,
        figure: Option<&CastingId>,
        missing: &mut Vec<String>,
    ) -> Option<Setting> {
        let made = |bed, from| Setting { bed, from };
        if let Some(bed) = self.trial(job, piece, base) {
            return Some(made(bed, SeatFrom::Trial));
        }
        let (Some(base), Some(figure)) = (base, figure) else {
            missing.push(
                "Say on the Job screen which base and figure this piece is made of".to_owned(),
            );
            return None;
        };
        match (self.heights(job, base), self.heights(job, figure)) {
            (Some(b), Some(f)) => Some(made(self.bed_of(&b, &f), SeatFrom::Heights)),
            (b, f) => {
                for (casting, read) in [(base, b), (figure, f)] {
                    if read.is_none() {
                        missing.push(self.unread(job, casting));
                    }
                }
                missing.push(
                    "Or set the figure on trial and read the gap at each pad and the locating dimension at each station"
                        .to_owned(),
                );
                None
            }
        }
    }

    fn unread(&self, job: &Job, casting: &CastingId) -> String {
        let left: Vec<String> = self
            .spots()
            .filter(|(s, _)| self.height(job, casting, &s.id).is_none())
            .map(|(_, name)| name.replace(',', ""))
            .collect();
        let part = job
            .castings
            .get(casting)
            .and_then(|c| job.parts.get(c.part.as_ref()?)?.name.clone())
            .unwrap_or_else(|| "Casting".to_owned());
        format!(
            "{part} {}: read the height over the board at {}",
            casting_name(job, casting),
            left.join(", ")
        )
    }

    /// The figure as it stands on trial: gaps at every pad, the locating dimension at every station.
    fn trial(&self, job: &Job, piece: &PieceId, base: Option<&CastingId>) -> Option<Bed> {
        let foot = |spot: &SeatSpot| {
            let z = base
                .and_then(|b| self.height(job, b, &spot.id))
                .unwrap_or(0.0);
            Point3::<Base>::from_mm(spot.across.mm.mm(), spot.back.mm.mm(), z)
        };
        let raised = |p: Point3<Base>, by: Vector3<Base>| Point3::from_column_mm((p + by).mm());
        let mut pads = Vec::new();
        for spot in &self.pads {
            let gap = self.gap_read(job, piece, &spot.id, SeatWhen::Dry)?.mm.mm();
            let on_base = foot(spot);
            pads.push(self.pad(spot, on_base, raised(on_base, normal(spot) * gap)));
        }
        let mut stations = Vec::new();
        for spot in &self.stations {
            let read = self
                .locating_read(job, piece, &spot.id, SeatWhen::Dry)?
                .mm
                .mm();
            let on_base = foot(spot);
            let up = Vector3::from_mm(0.0, 0.0, read);
            let sd = self.locating_sd(job, piece, &spot.id, SeatWhen::Dry);
            stations.push(self.station(spot, on_base, raised(on_base, up), sd));
        }
        Some(self.bed(pads, stations))
    }
}
