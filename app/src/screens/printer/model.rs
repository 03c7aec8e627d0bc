//! What the Printer check screen makes of what is typed.

use samespot_core::job::{
    ClassMark, Edit, EntityRef, Entry, Job, JobEdit, Payload, PrinterEdit, PrinterId, ProofFact,
};
use samespot_core::prepare::printer::ProofTyped;
use samespot_core::proof::Plan;
use samespot_core::sheet::Paper;
use samespot_core::units::Length;

/// The four distances of the page.
#[derive(Debug, Clone, PartialEq)]
pub struct Read {
    /// A to B.
    pub across: Option<Entry>,
    /// A to D.
    pub up: Option<Entry>,
    /// A to C.
    pub rising: Option<Entry>,
    /// B to D.
    pub falling: Option<Entry>,
    /// The class of the rule.
    pub class: ClassMark,
    /// The least step read.
    pub step: Length,
    /// The outermost whole frame; empty where nobody looked.
    pub reaches: String,
}

impl Read {
    /// What can be judged of it: both sides at least.
    #[must_use]
    pub fn typed(&self) -> Option<ProofTyped> {
        let length = |e: &Option<Entry>| e.as_ref().map(|e| e.mm);
        Some(ProofTyped {
            across: length(&self.across)?,
            up: length(&self.up)?,
            rising: length(&self.rising),
            falling: length(&self.falling),
            class: self.class,
            step: self.step,
        })
    }

    /// The fact of it.
    #[must_use]
    pub fn fact(
        &self,
        printer: PrinterId,
        paper: Paper,
        drawn: Plan,
        day: String,
    ) -> Option<ProofFact> {
        let reaches: Option<f64> = self.reaches.parse().ok();
        Some(ProofFact {
            printer,
            paper,
            drawn,
            across: self.across.clone()?,
            up: self.up.clone()?,
            rising: self.rising.clone(),
            falling: self.falling.clone(),
            class: self.class,
            step: self.step,
            reaches: reaches.map(Length::from_mm),
            day,
        })
    }
}

/// Sets fields of a printer.
#[must_use]
pub fn set_printer(printer: &PrinterId, fields: &PrinterEdit) -> Vec<Payload> {
    let edit = Edit::of(EntityRef::Printer(printer.clone()), fields);
    edit.map(Payload::Edit).into_iter().collect()
}

/// Takes a printer in use.
#[must_use]
pub fn use_printer(printer: &PrinterId) -> Vec<Payload> {
    let fields = JobEdit {
        printer: Some(printer.clone()),
        ..JobEdit::default()
    };
    let edit = Edit::of(EntityRef::Job, &fields);
    edit.map(Payload::Edit).into_iter().collect()
}

/// A printer that was not there before, in use from now on.
#[must_use]
pub fn new_printer(printer: &PrinterId, name: &str) -> Vec<Payload> {
    let name = name.trim();
    let fields = PrinterEdit {
        name: Some(if name.is_empty() { "our printer" } else { name }.to_owned()),
        ..PrinterEdit::default()
    };
    let mut all = set_printer(printer, &fields);
    all.extend(use_printer(printer));
    all
}

/// Every printer with its name.
#[must_use]
pub fn printers(job: &Job) -> Vec<(String, String)> {
    let name = |(id, p): (&PrinterId, &PrinterEdit)| {
        (
            id.to_string(),
            p.name.clone().unwrap_or_else(|| id.to_string()),
        )
    };
    job.printers.iter().map(name).collect()
}

/// The printer in use, where it is still there.
#[must_use]
pub fn in_use(job: &Job) -> Option<(PrinterId, PrinterEdit)> {
    let id = job.about.printer.as_ref()?;
    let printer = job.printers.get(id)?;
    Some((id.clone(), printer.clone()))
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use samespot_core::proof::plan;

    fn read() -> Read {
        Read {
            across: Some(Entry::of_mm(169.5)),
            up: Some(Entry::of_mm(249.0)),
            rising: Some(Entry::of_mm(301.2)),
            falling: None,
            class: ClassMark::I,
            step: Length::from_mm(1.0),
            reaches: "6".into(),
        }
    }

    #[test]
    fn nothing_is_judged_until_both_sides_are_there() {
        assert!(Read { up: None, ..read() }.typed().is_none());
        let typed = read().typed().unwrap();
        assert_eq!(typed.across.to_um(), 169_500);
        assert_eq!(typed.step.to_um(), 1_000);
        assert_eq!(typed.falling, None);
    }

    #[test]
    fn the_fact_keeps_what_was_drawn_beside_what_was_read() {
        let id = PrinterId::new("bench").unwrap();
        let drawn = plan(Paper::A4).unwrap();
        let fact = read().fact(id, Paper::A4, drawn, "2026-11-26".into());
        let fact = fact.unwrap();
        assert_eq!(fact.drawn, drawn);
        assert_eq!(fact.reaches.unwrap().to_um(), 6_000);
        assert_eq!(fact.class, ClassMark::I);
    }

    #[test]
    fn a_printer_without_a_name_gets_one_and_is_in_use() {
        let id = PrinterId::new("bench").unwrap();
        assert_eq!(new_printer(&id, "  ").len(), 2);
        let mut job =
            samespot_core::job::Ledger::new(samespot_core::job::JobId::new("j").unwrap()).fold();
        assert_eq!(in_use(&job), None);
        job.about.printer = Some(id.clone());
        assert_eq!(in_use(&job), None, "it was removed");
        job.printers.insert(id, PrinterEdit::default());
        assert!(in_use(&job).is_some());
        assert_eq!(printers(&job), [("bench".to_owned(), "bench".to_owned())]);
    }
}
