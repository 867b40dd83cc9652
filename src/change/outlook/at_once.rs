//! The same work on each of a list, on all processors.

use std::sync::atomic::{AtomicUsize, Ordering};

/// Works through a list on all processors. What comes out stands in the order of the list.
pub(super) fn each_at_once<T: Sync, R: Send, E: Send>(
    list: &[T],
    work: impl Fn(&T) -> Result<R, E> + Sync,
) -> Result<Vec<R>, E> {
    let next = AtomicUsize::new(0);
    let take = || -> Vec<(usize, Result<R, E>)> {
        let ours = std::iter::from_fn(|| {
            let index = next.fetch_add(1, Ordering::Relaxed);
            list.get(index).map(|item| (index, work(item)))
        });
        ours.collect()
    };
    let workers = std::thread::available_parallelism().map_or(1, |count| count.get()).min(list.len());
    let mut done: Vec<(usize, Result<R, E>)> = std::thread::scope(|scope| {
        let others: Vec<_> = (1..workers).map(|_| scope.spawn(take)).collect();
        let own = take();
        let joined = others.into_iter().flat_map(|other| match other.join() {
            Ok(done) => done,
            Err(panic) => std::panic::resume_unwind(panic),
        });
        own.into_iter().chain(joined).collect()
    });
    done.sort_by_key(|(index, _)| *index);
    done.into_iter().map(|(_, result)| result).collect()
}
