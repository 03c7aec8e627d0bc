//! Rows of the yardstick's shape.

use rustix::time::{ClockId, clock_gettime};
use std::hint::black_box;
use std::time::Instant;

/// Processor time of the process so far, s.
fn processor_s() -> f64 {
    let t = clock_gettime(ClockId::ProcessCPUTime);
    t.tv_sec as f64 + t.tv_nsec as f64 * 1e-9
}

fn status_kb(key: &str) -> f64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find(|l| l.starts_with(key));
    line.and_then(|l| l.split_whitespace().nth(1)?.parse().ok())
        .unwrap_or(0.0)
}

/// What is measured.
pub(crate) struct Of<'a> {
    pub(crate) kernel: &'a str,
    /// Which way of doing it.
    pub(crate) way: &'a str,
    pub(crate) size: &'a str,
    /// How many triangles, queries, vertices it is for.
    pub(crate) items: usize,
}

/// Now, by the wall and by the processor.
pub(crate) fn now() -> (Instant, f64) {
    (Instant::now(), processor_s())
}

/// Runs it until the median holds, and prints a row.
pub(crate) fn measured<T>(of: &Of<'_>, mut run: impl FnMut() -> T, check: impl Fn(&T) -> String) {
    measured_to(of, || (run(), now()), check);
}

/// The same for what ends before it returns: it says when.
pub(crate) fn measured_to<T>(
    of: &Of<'_>,
    mut run: impl FnMut() -> (T, (Instant, f64)),
    check: impl Fn(&T) -> String,
) {
    let (mut wall, mut processor, mut peak_mb, mut said) = (vec![], vec![], 0.0_f64, None);
    let begun = Instant::now();
    loop {
        let before_kb = status_kb("VmRSS");
        // Resets the peak (proc_pid_clear_refs(5)); where it may not, the peak is of all runs.
        let _ = std::fs::write("/proc/self/clear_refs", "5");
        let (start, start_s) = now();
        let (answer, (end, end_s)) = black_box(run());
        let (took, took_s) = ((end - start).as_secs_f64(), end_s - start_s);
        peak_mb = peak_mb.max((status_kb("VmHWM") - before_kb) / 1000.0);
        if said.is_none() {
            said = Some(check(&answer));
            if took < 1.5 {
                continue;
            }
        }
        wall.push(took);
        processor.push(took_s);
        let all = begun.elapsed().as_secs_f64();
        if (wall.len() >= 7 && all > 0.5) || wall.len() >= 51 || all > 12.0 {
            break;
        }
    }
    wall.sort_by(f64::total_cmp);
    processor.sort_by(f64::total_cmp);
    let middle = |all: &[f64]| all[all.len() / 2];
    println!(
        "{{\"kernel\":\"{}\",\"lib\":\"Samespot{}\",\"lang\":\"Rust native\",\"size\":\"{}\",\"threads\":1,\"cpu_s\":{:.9},\"median_s\":{:.9},\"min_s\":{:.9},\"max_s\":{:.9},\"runs\":{},\"peak_mb\":{:.1},\"per_item_ns\":{:.1},\"check\":\"{}\"}}",
        of.kernel,
        of.way,
        of.size,
        middle(&processor),
        middle(&wall),
        wall[0],
        wall[wall.len() - 1],
        wall.len(),
        peak_mb,
        middle(&processor) / of.items.max(1) as f64 * 1e9,
        said.unwrap_or_default()
    );
}
