//! Texts by number, each stored once. What they say is no concern of this file.

use std::collections::HashMap;

/// The texts so far.
#[derive(Clone, Default, Debug)]
pub struct Texts {
    /// By number.
    pub all: Vec<String>,
    numbers: HashMap<String, usize>,
}

impl Texts {
    /// Texts that are there already. Where one stands there twice, it goes by its first number.
    pub fn of(all: &[String]) -> Self {
        let mut numbers = HashMap::new();
        for (number, text) in all.iter().enumerate() {
            numbers.entry(text.clone()).or_insert(number);
        }
        Texts { all: all.to_vec(), numbers }
    }

    /// The number of a text; a new one where it was not met before.
    pub fn number(&mut self, text: &str) -> usize {
        if let Some(number) = self.numbers.get(text) {
            return *number;
        }
        self.all.push(text.to_owned());
        self.numbers.insert(text.to_owned(), self.all.len() - 1);
        self.all.len() - 1
    }
}
