//! Freezing many compositions: each distinct one once in a session, on all processors. Results depend on the composition
//! alone, so that neither order nor number of processors shows in them.

use crate::engine::Memory;
use crate::metallurgy::freezing::{Database, Freezing, FreezingError, Settings, freeze};
use crate::processors::for_each;
use crate::quantity::Quantity;
use std::collections::HashMap;
use std::sync::{Arc, Mutex, MutexGuard, OnceLock, PoisonError};

/// Contents by element, without aluminium.
pub type Composition = Vec<(String, Quantity)>;

/// The built-in thermodynamic data, read once.
fn database() -> Option<&'static Database> {
    static READ: OnceLock<Option<Database>> = OnceLock::new();
    READ.get_or_init(|| Database::aluminium().ok()).as_ref()
}

/// Starts reading the built-in data on another processor, for a caller that has other things to read first.
pub fn read_ahead() {
    std::thread::spawn(database);
}

/// Freezes a composition with the built-in data. Errors as [`freeze`].
pub fn frozen(composition: &[(String, Quantity)]) -> Result<Freezing, FreezingError> {
    frozen_by(database().ok_or(FreezingError::NoLiquid)?, composition)
}

/// The same with other data.
pub fn frozen_by(database: &Database, composition: &[(String, Quantity)]) -> Result<Freezing, FreezingError> {
    let named: Vec<(&str, f64)> = composition
        .iter()
        .filter(|(_, content)| content.base > 0.0)
        .map(|(element, content)| (element.as_str(), content.base))
        .collect();
    freeze(database, &named, &Settings::default())
}

type CompositionKey = Vec<(String, u64)>;
type Frozen = Option<Arc<Freezing>>;

/// So many pools are kept at most: some tens of megabytes.
const MOST: usize = 4096;

/// Pools that were frozen, by composition. Once it is full it is emptied; what it gives never depends on what it holds.
#[derive(Debug, Default)]
pub(super) struct FreezingCache {
    frozen: Mutex<HashMap<CompositionKey, Frozen>>,
}

fn key(composition: &Composition) -> CompositionKey {
    composition.iter().map(|(element, content)| (element.clone(), content.base.to_bits())).collect()
}

impl FreezingCache {
    // A thread that panicked leaves whole entries behind, if any.
    fn lock(&self) -> MutexGuard<'_, HashMap<CompositionKey, Frozen>> {
        self.frozen.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Freezes each composition; `None` where the data or the solver do not reach to the end.
    fn all(&self, compositions: &[Composition]) -> Vec<Frozen> {
        let keys: Vec<CompositionKey> = compositions.iter().map(key).collect();
        let mut found: HashMap<CompositionKey, Frozen> = {
            let known = self.lock();
            let kept = keys.iter().filter_map(|key| Some((key.clone(), known.get(key)?.clone())));
            kept.collect()
        };
        let missing = keys.iter().zip(compositions).filter(|(key, _)| !found.contains_key(*key));
        let mut missing: Vec<(&CompositionKey, &Composition)> = missing.collect();
        // The longest work first, so that no processor is left with it at the end.
        missing.sort_by(|a, b| b.0.len().cmp(&a.0.len()).then_with(|| a.0.cmp(b.0)));
        missing.dedup_by(|a, b| a.0 == b.0);
        let results = for_each(&missing, |(_, metal)| frozen(metal).ok().map(Arc::new));
        let new: Vec<(CompositionKey, Frozen)> =
            missing.into_iter().map(|(key, _)| key.clone()).zip(results).collect();
        let mut kept = self.lock();
        if kept.len() + new.len() > MOST {
            kept.clear();
        }
        kept.extend(new.iter().take(MOST).cloned());
        drop(kept);
        found.extend(new);
        keys.iter().map(|key| found.get(key).cloned().flatten()).collect()
    }
}

/// Freezes each composition, or takes it from what a memory keeps; `None` where the data or the solver do not reach to the end.
pub(super) fn frozen_all(memory: &Memory, compositions: &[Composition]) -> Vec<Frozen> {
    match memory.of::<FreezingCache>() {
        Some(cache) => cache.all(compositions),
        None => FreezingCache::default().all(compositions),
    }
}

/// The same of one composition.
pub(super) fn frozen_once(memory: &Memory, composition: Composition) -> Frozen {
    frozen_all(memory, &[composition]).pop().flatten()
}

#[cfg(test)]
mod tests {
    use super::*;

    use crate::quantity::Dimension;

    fn metal(contents: &[(&str, f64)]) -> Composition {
        let content = |value| Quantity::from_base(value, Dimension::MASS_PERCENT);
        contents.iter().map(|(element, value)| ((*element).to_owned(), content(*value))).collect()
    }

    #[test]
    fn one_by_one_or_together_is_the_same() {
        let metals: Vec<Composition> =
            (1..6).map(|step| metal(&[("Mg", 0.5), ("Si", f64::from(step))])).collect();
        let memory = Memory::default();
        for _ in 0..2 {
            for (metal, together) in metals.iter().zip(frozen_all(&memory, &metals)) {
                assert_eq!(frozen(metal).ok(), together.map(|freezing| (*freezing).clone()));
            }
        }
        let cache = memory.of::<FreezingCache>().expect("a cache");
        assert_eq!(cache.lock().len(), 5);
    }

    #[test]
    fn a_full_cache_is_emptied_and_forgets_no_result() {
        let cache = FreezingCache::default();
        let filling = (0..MOST).map(|number| (vec![("Si".to_owned(), number as u64)], None));
        cache.lock().extend(filling);
        let metals = [metal(&[("Si", 5.0)]), metal(&[("Si", 6.0)])];
        assert!(cache.all(&metals).iter().all(Option::is_some));
        assert_eq!(cache.lock().len(), 2);
    }
}
