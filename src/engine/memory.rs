//! What computations keep from one run to the next, so that costly results are worked out once. The engine does not know what
//! it is; who holds the memory says how long it lasts and who shares it.

use std::any::Any;
use std::fmt;
use std::sync::{Arc, OnceLock};

/// A place for one value of the computations' own, empty at first. Copies share it.
#[derive(Clone, Default)]
pub struct Memory(Arc<OnceLock<Box<dyn Any + Send + Sync>>>);

impl Memory {
    /// The value, made where there is none yet; `None` where a value of another type is held.
    pub fn of<T: Any + Default + Send + Sync>(&self) -> Option<&T> {
        self.0.get_or_init(|| Box::<T>::default()).downcast_ref()
    }
}

impl fmt::Debug for Memory {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(if self.0.get().is_some() { "Memory(held)" } else { "Memory(empty)" })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::Mutex;

    #[test]
    fn copies_share_what_is_held() {
        let memory = Memory::default();
        let other = memory.clone();
        memory.of::<Mutex<Vec<u8>>>().expect("made").lock().expect("free").push(7);
        assert_eq!(*other.of::<Mutex<Vec<u8>>>().expect("the same").lock().expect("free"), [7]);
        assert!(other.of::<String>().is_none(), "it holds something else");
    }
}
