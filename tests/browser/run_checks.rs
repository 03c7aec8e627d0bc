//! The run on the Checks screen: who is not checked, a step at a mould's repair, left against right; a
//! hole checked with more room for being bigger; the job put back to where it was.

use samespot_core::check::{DecisionRule, Verdict};
use samespot_core::job::{
    BiggerHole, CheckFact, Edit, EntityRef, FeatureId, FixingEdit, Found, Ledger, MouldEvent,
    MouldFact, Payload, PieceId, ReplicaId, Writer,
};
use samespot_core::read::job::open;
use samespot_core::units::Length;
use samespot_core::write::job::{Attachments, job_file};

use crate::browser::Screen;
use crate::walk::walk;

const FILE: &[u8] = include_bytes!("../../public/examples/quay-puffins.samespot");

fn check(n: u32, feature: &str, right: f64, up: f64) -> Payload {
    let out = right.hypot(up);
    Payload::Check(Box::new(CheckFact {
        piece: PieceId::new(&format!("p{n}")).unwrap(),
        feature: FeatureId::new(feature).unwrap(),
        readings: Vec::new(),
        note: String::new(),
        lay_back: None,
        found: Some(Found {
            right: Length::from_mm(right),
            up: Length::from_mm(up),
            size: Length::ZERO,
            limit: Length::from_mm(3.0),
            guard: Length::from_mm(1.2),
            verdict: if out <= 1.8 {
                Verdict::Within
            } else if out > 4.2 {
                Verdict::Outside
            } else {
                Verdict::NotProven
            },
            rule: DecisionRule::TwoSigma,
            sd: Some(Length::from_mm(0.6)),
        }),
        stage: None,
        gauge: None,
        reference: None,
    }))
}

/// The example with fourteen pieces checked; a repair after pull 8 lifts the left eye.
fn checked() -> Vec<u8> {
    let mut ledger: Ledger = open(FILE).unwrap().ledger;
    let job = ledger.fold();
    let writer = Writer {
        replica: ReplicaId(77),
        who: "QA (invented)".into(),
        wall: "2026-11-26 12:00".into(),
    };
    let mut say = |payload: &Payload| drop(ledger.write(&writer, payload).unwrap());
    let casting = job.casting_with(
        &FeatureId::new("eye-left").unwrap(),
        &PieceId::new("p1").unwrap(),
    );
    let mould = casting.and_then(|c| job.castings[c].mould.clone()).unwrap();
    say(&Payload::Mould(MouldFact {
        mould,
        what: "gelcoat chipped at the brow".into(),
        after_pull: Some(8),
        kind: Some(MouldEvent::Repaired),
        sections: Vec::new(),
    }));
    let noise = |n: u32| 0.12 * f64::from([1, -1, -1, 1][(n % 4) as usize]);
    for n in 1..=14 {
        let step = if n > 7 { 0.9 } else { 0.0 };
        say(&check(n, "eye-left", noise(n), step + noise(n + 1)));
        say(&check(n, "eye-right", noise(n + 2), noise(n + 3)));
    }
    say(&check(15, "eye-right", 0.4, -4.6));
    say(&check(16, "eye-right", 2.2, 0.3));
    let fixing = job.fixings.keys().next().unwrap().clone();
    let fields = FixingEdit {
        bigger_hole: Some(BiggerHole::MoreRoom),
        widest: Some(samespot_core::job::Entry::of_mm(14.0)),
        ..FixingEdit::default()
    };
    say(&Payload::Edit(
        Edit::of(EntityRef::Fixing(fixing), &fields).unwrap(),
    ));
    job_file(&ledger, &Attachments::new()).unwrap()
}

#[test]
fn the_run_says_what_one_piece_cannot() {
    walk("run-checks", |w| {
        let page = w.open("");
        page.set_screen(Screen::TABLET);
        page.wait_started();
        page.wait_offline_ready();
        page.tap(".ways a.way:first-child");
        page.wait_for_text("Quay puffins");
        w.site.stop();
        // Nothing is proved on a piece yet, and the screen says so before anything is printed.
        page.wait_for_text("PROVING: no piece made with it has been checked");
        page.picture("proving");
        let copy = w.keep("checked.samespot", &checked());
        page.tap("a.home");
        page.choose_file("input[type=file]", &copy);
        page.wait_for("location.hash.startsWith('#/j/quay-puffins')");
        page.wait_for("document.querySelector('.run a[href*=\"/p/p7\"]')");
        page.tap("a.home");
        page.tap("a.way.check");
        page.wait_for_text("The run");
        page.wait_for_text("1 outside, 1 can’t tell");
        page.wait_for_text("Furthest out: piece 15, 0.4 right, 4.6 down");
        page.wait_for_text("a step, not a drift");
        page.wait_for_text("come out");
        page.picture("overview");
        page.set_screen(Screen::TABLET_UPRIGHT);
        page.picture("overview-upright");
        page.set_screen(Screen::DESK);
        page.picture("overview-desk");
        page.set_screen(Screen::TABLET);
        page.tap(".over-square[aria-label^='Eye, left, piece 3']");
        page.wait_for_text("further up since the mould was repaired after pull 8");
        page.wait_for_text("Left and right");
        page.eval("document.querySelector('.checks-run').scrollIntoView()");
        page.picture("step");
        page.wait_for_text("the left one");
        page.tap(".tasks a[href$='/templates'], nav a[href$='/templates']");
        page.wait_for("!document.body.innerText.includes('PROVING')");

        // A hole that came out bigger.
        page.tap("nav.tasks a[href$='/holes']");
        page.tap(".run a[href*='/p/p7/']");
        page.tap(".holes-side .key.big");
        page.wait_for_text("Hole 1 of 4");
        page.tap(".holes-check summary");
        page.fill("#hole-across", "12.5");
        page.fill("#hole-right", "0.5");
        page.fill("#hole-up", "-0.4");
        page.wait_for_text("more for the bigger hole");
        page.wait_for_text("Place: 0.5 right, 0.4 down");
        page.picture("hole");
        page.tap("#hole-keep");
        page.wait_for_text("Checked: 0.5 right, 0.4 down");

        // Back to where the job was before the hole: said first, then done.
        page.tap(".tasks a[href$='/history']");
        page.wait_for_text("hole 1 of");
        page.tap(".history-list li:nth-child(2) button");
        page.tap_text("Go back to here…");
        page.wait_for_text("takes back 1 entry of this device");
        page.picture("go-back");
        page.tap_text("Take it back and go there");
        page.wait_for_text("took back: hole 1 of");
        page.tap(".history-list li:nth-child(40) button");
        page.tap_text("Go back to here…");
        page.wait_for_text("This stays:");
        page.wait_for_text("entries of QA (invented)");
        page.picture("others-stay");
    });
}
