//! What is one step, and what is not.

use super::*;
use crate::job::{JobEdit, JobId, ReplicaId, Writer};

/// What is said every day is one step and never a fold of everything.
#[test]
fn what_is_said_last_and_taken_back_is_one_step() {
    let mut ledger = Ledger::new(JobId::new("j").unwrap());
    let writer = Writer {
        replica: ReplicaId(1),
        who: String::new(),
        wall: String::new(),
    };
    let title = |text: &str| {
        let fields = JobEdit {
            title: Some(text.into()),
            ..JobEdit::default()
        };
        Payload::Edit(Edit::of(EntityRef::Job, &fields).unwrap())
    };
    let said = |ledger: &mut Ledger, payload: &Payload| {
        ledger.write(&writer, payload).unwrap().envelope.id
    };
    said(&mut ledger, &title("one"));
    let mut folded = Folded::of(&ledger);
    let two = said(&mut ledger, &title("two"));
    assert!(folded.step(&ledger, two).is_ok());
    assert_eq!(folded.about.title.as_deref(), Some("two"));
    let back = said(&mut ledger, &Payload::Withdraw(Withdrawal { target: two }));
    assert!(folded.step(&ledger, back).is_ok());
    assert_eq!(folded.about.title.as_deref(), Some("one"));
    let again = said(&mut ledger, &Payload::Withdraw(Withdrawal { target: back }));
    assert!(folded.step(&ledger, again).is_ok());
    assert_eq!(folded.about.title.as_deref(), Some("two"));
    // A thing taken out may be spoken of anywhere.
    let entity = EntityRef::Job;
    let gone = said(&mut ledger, &Payload::Remove(Removal { entity }));
    assert!(folded.step(&ledger, gone).is_err());
}
