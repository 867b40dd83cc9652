//! The same work on each of some things, on all processors. What the work is, is the caller's.

use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Mutex, PoisonError};

/// Does the work for each of the things, on all processors. They are begun in their order, and the results come in it.
pub fn for_each<T: Sync, R: Send>(things: &[T], work: impl Fn(&T) -> R + Sync) -> Vec<R> {
    let next = AtomicUsize::new(0);
    let done: Mutex<Vec<(usize, R)>> = Mutex::default();
    let take = || {
        loop {
            let index = next.fetch_add(1, Ordering::Relaxed);
            let Some(thing) = things.get(index) else { break };
            let result = work(thing);
            done.lock().unwrap_or_else(PoisonError::into_inner).push((index, result));
        }
    };
    let threads = std::thread::available_parallelism().map_or(1, usize::from).min(things.len());
    std::thread::scope(|scope| {
        for _ in 1..threads {
            scope.spawn(take);
        }
        take();
    });
    let mut done = done.into_inner().unwrap_or_else(PoisonError::into_inner);
    done.sort_by_key(|(index, _)| *index);
    done.into_iter().map(|(_, result)| result).collect()
}
