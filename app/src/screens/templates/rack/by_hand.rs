//! A template made without a print: a shell off a good casting, card cut on the pattern, a rod; a
//! jig drilled through the bracket itself.

use crate::ports::{clock, ids};
use crate::say;
use crate::state::session;
use crate::widgets::choice::{Choice, Choices};
use crate::widgets::field::Field;
use crate::widgets::typing::{TypedLength, Typing};
use leptos::prelude::*;
use samespot_core::answer::ByHand;
use samespot_core::job::{
    CheckDistance, Edit, EntityRef, Payload, SheetOf, TemplateEdit, TemplateId, TemplateKind,
};
use samespot_core::prepare::mm;
use samespot_core::prepare::rack::between_holes;
use samespot_core::units::Length;

/// Its kind by the word on the key.
pub(super) fn kind_of(word: &str) -> TemplateKind {
    match word {
        "shell" => TemplateKind::Shell,
        "jig" => TemplateKind::Jig,
        "rod" => TemplateKind::Rod,
        "drill template" => TemplateKind::DrillTemplate,
        "setting plate" => TemplateKind::SettingPlate,
        _ => TemplateKind::Stencil,
    }
}

/// The keys of the kinds.
pub(super) fn kinds() -> Vec<Choice> {
    vec![
        Choice::words("stencil", "stencil"),
        Choice::words("shell", "shell"),
        Choice::words("jig", "jig"),
        Choice::words("rod", "rod"),
    ]
}

/// The keys of what is drilled through.
fn drilled_kinds() -> Vec<Choice> {
    vec![
        Choice::words("jig", "jig"),
        Choice::words("drill template", "drill template"),
        Choice::words("setting plate", "setting plate"),
    ]
}

/// How far out a distance may be where no tolerance was given (common practice, no source).
const WITHIN_MM: f64 = 1.0;

/// The form.
#[component]
pub fn MadeByHand(one: ByHand, open: RwSignal<bool>) -> impl IntoView {
    let session = session();
    let drilled = one.of.fixing().is_some();
    let kind = RwSignal::new(if drilled { "jig" } else { "shell" }.to_owned());
    let pieces = RwSignal::new(one.pieces.clone());
    let between = RwSignal::new(String::new());
    let long = Typing::of_length(None);
    let number = one.number;
    let title = one.title.clone();
    let within = one.within.unwrap_or(Length::from_mm(WITHIN_MM));
    let by: Vec<String> = (one.distances.iter())
        .map(|d| format!("{}, {} mm", d.between, mm(d.drawn)))
        .collect();
    let proved_by = (!by.is_empty()).then(|| {
        format!(
            "Proved by {}, unless you say another distance",
            by.join(", and ")
        )
    });
    let one = StoredValue::new(one);
    let make = move |_| {
        let Some(book) = session.book.get_untracked() else {
            return;
        };
        let served = match book.job.pieces_listed(&pieces.get_untracked()) {
            Ok(served) => served,
            Err(why) => {
                session.notice(why, true);
                return;
            }
        };
        let name = between.get_untracked();
        let drawn = long.entry_now().map(|e| e.mm);
        let kind = kind_of(&kind.get_untracked());
        let known = one.with_value(|one| match (one.of.fixing(), kind) {
            (Some(id), TemplateKind::DrillTemplate) => {
                between_holes(&book.job, &SheetOf::Fixing(id.clone()))
            }
            _ => one.distances.clone(),
        });
        let distances = match (name.is_empty(), drawn) {
            (true, None) if long.is_empty() && drilled && known.is_empty() => {
                session.notice(
                    "What is drilled through is proved by a distance on it: say from where to where, and how long it is",
                    true,
                );
                return;
            }
            (true, None) if long.is_empty() => known,
            (false, Some(drawn)) if drawn.mm() > 0.0 => vec![CheckDistance {
                between: name,
                drawn,
                within,
                bored: drilled && kind != TemplateKind::DrillTemplate,
            }],
            _ => {
                session.notice(
                    "A distance needs both: from where to where, and how long it is. Or leave both empty",
                    true,
                );
                return;
            }
        };
        let fields = one.with_value(|one| TemplateEdit {
            number: Some(one.number),
            kind: Some(kind),
            feature: one.of.feature().cloned(),
            fixing: one.of.fixing().cloned(),
            pieces: Some(served),
            issue: one.issue.clone(),
            distances: Some(distances),
            made: Some(clock::day()),
            check_every: Some(6),
            ..TemplateEdit::default()
        });
        if let Ok(id) = TemplateId::new(&format!("t{}", ids::thing()))
            && let Ok(edit) = Edit::of(EntityRef::Template(id), &fields)
        {
            session.say(&[Payload::Edit(edit)]);
            open.set(false);
        }
    };
    view! {
        <div class="rack-print">
            <p>
                <strong>"Made without a print: "</strong>
                {say::job::capital(&title)}
            </p>
            <Choices legend="Made as" shown=true choices=if drilled { drilled_kinds() } else { kinds() }
                taken=kind take=move |v| kind.set(v) />
            {proved_by.map(|by| view! { <p class="second">{by}</p> })}
            <div class="job-row">
                <Field id="rack-pieces" label="For pieces" value=pieces keep=move |v| pieces.set(v) hint="1 to 6, 9" />
                <Field
                    id="rack-between"
                    label="A long distance on it, from where to where"
                    value=between
                    keep=move |v| between.set(v)
                    hint="pin A to pin C"
                />
                <TypedLength id="rack-long" label="How long it is meant to be" typing=long />
            </div>
            <div class="job-row">
                <button type="button" id="rack-by-hand-made" class="key" on:click=make>
                    {format!("It is made: write {number} on it")}
                </button>
                <button type="button" class="key" on:click=move |_| open.set(false)>
                    "Not now"
                </button>
            </div>
        </div>
    }
}
