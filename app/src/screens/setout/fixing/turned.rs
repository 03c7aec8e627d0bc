//! How a bracket is turned on its line, which of a pair it is, and how far out its holes may be.

use super::Open;
use crate::screens::setout::turned::KeptForm;
use crate::widgets::angle::TypedAngle;
use crate::widgets::choice::{Choice, Choices};
use crate::widgets::typing::{TypedLength, Typing};
use leptos::prelude::*;
use samespot_core::job::{Entry, FixingEdit, Hand as Handed, Job, PointRef, RuleSpec};
use samespot_core::units::Length;

/// A level was taken to the line of a rule on the pattern, as it was approved.
fn is_levelled(job: &Job, rule: Option<&RuleSpec>) -> bool {
    let Some(RuleSpec::Line { from, to, .. }) = rule else {
        return false;
    };
    let ends = [from, to].map(|m| PointRef::Mark(m.clone()));
    job.readings.iter().map(|r| &r.says).any(|r| {
        let pattern = job.castings.get(&r.casting).and_then(|c| c.pattern);
        pattern == Some(true)
            && r.of.stood() == Some(0)
            && ends.iter().all(|end| r.of.points().contains(&end))
    })
}

/// Turn, hand and tolerance of a bracket.
#[component]
pub(super) fn Turned(open: Open) -> impl IntoView {
    let handed = Signal::derive(move || {
        match open.of(|f| f.hand).flatten() {
            Some(Handed::Left) => "left",
            Some(Handed::Right) => "right",
            None => "one",
        }
        .to_owned()
    });
    let within = Typing::new(
        open.now(|f| f.tolerance.map(|t| Entry::of_mm(t.mm())))
            .flatten()
            .as_ref(),
    );
    let keep_within = move |_: bool| {
        if let Some(entry) = within.entry_now().filter(|e| e.mm > Length::ZERO) {
            open.keep(FixingEdit {
                tolerance: Some(entry.mm),
                ..FixingEdit::default()
            });
        }
    };
    let levelled = Signal::derive(move || {
        let rule = open.of(|f| f.rule.clone()).flatten();
        open.hand.of_job(|j| is_levelled(j, rule.as_ref())) == Some(true)
    });
    view! {
        <div class="job-row">
            <TypedAngle id="fixing-turn" label="Turned on that line, degrees (anticlockwise, seen from outside)"
                stands=open.now(|f| f.turn).flatten() sides=("clockwise", "anticlockwise")
                keep=Callback::new(move |turn| open.keep(FixingEdit { turn: Some(turn), ..FixingEdit::default() })) />
        </div>
        <KeptForm
            hand=open.hand
            rule=Signal::derive(move || open.of(|f| f.rule.clone()).flatten())
            kept=Signal::derive(move || open.of(|f| f.turn_kept).flatten())
            levelled=levelled
            keep=Callback::new(move |to| open.keep(FixingEdit { turn_kept: Some(to), ..FixingEdit::default() }))
        />
        <Choices
            legend="One of a pair? The figure's own left or right"
            shown=true
            choices=vec![
                Choice::words("left", "left"),
                Choice::words("right", "right"),
                Choice::words("one", "there is only one"),
            ]
            taken=handed
            take=move |v: String| {
                let hand = match v.as_str() {
                    "left" => Some(Handed::Left),
                    "right" => Some(Handed::Right),
                    _ => None,
                };
                open.keep(FixingEdit { hand, ..FixingEdit::default() });
            }
        />
        <TypedLength id="fixing-within" label="How far out may a hole be, any way (as far as its bolt gives, unless you say less)" typing=within done=keep_within />
    }
}
