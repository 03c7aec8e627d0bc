//! Many alike things worked out side by side where there are threads; the results stand in order,
//! so nobody can tell.

/// `work` done on each, in order.
#[cfg(not(target_arch = "wasm32"))]
pub(super) fn each<T: Sync, R: Send>(of: &[T], work: impl Fn(&T) -> R + Sync) -> Vec<R> {
    use std::sync::atomic::{AtomicUsize, Ordering};
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    let next = AtomicUsize::new(0);
    // One at a time off a common pile: some take ten times as long as others.
    let share = || {
        let mut done = Vec::new();
        while let Some((i, one)) = {
            let i = next.fetch_add(1, Ordering::Relaxed);
            of.get(i).map(|one| (i, one))
        } {
            done.push((i, work(one)));
        }
        done
    };
    let mut all: Vec<(usize, R)> = std::thread::scope(|scope| {
        let helping: Vec<_> = (1..threads.min(of.len()))
            .map(|_| scope.spawn(share))
            .collect();
        let mut all = share();
        for thread in helping {
            match thread.join() {
                Ok(done) => all.extend(done),
                Err(broke) => std::panic::resume_unwind(broke),
            }
        }
        all
    });
    all.sort_by_key(|(i, _)| *i);
    all.into_iter().map(|(_, r)| r).collect()
}

/// `work` done on each, in order.
#[cfg(target_arch = "wasm32")]
pub(super) fn each<T, R>(of: &[T], work: impl Fn(&T) -> R) -> Vec<R> {
    of.iter().map(work).collect()
}

#[cfg(test)]
mod tests {
    use super::each;

    #[test]
    fn each_is_done_once_and_stands_in_order() {
        let of: Vec<u64> = (0..500).collect();
        // Uneven work: the last begun is not the last done.
        let squared = each(&of, |n| (0..(500 - n) * 20).fold(n * n, |s, _| s));
        let expected: Vec<u64> = of.iter().map(|n| n * n).collect();
        assert_eq!(squared, expected);
        assert_eq!(each(&[] as &[u64], |n| *n), Vec::<u64>::new());
    }
}
