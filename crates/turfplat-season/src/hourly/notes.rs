//! What of a file cannot be used. A column in the wrong unit spoils each of its cells, and 156 notes
//! alike hide the one that differs: those of one kind are told once, with their number.

use std::collections::HashMap;

/// Notes on a file, in the order in which the first of each kind came.
#[derive(Clone, Debug, Default)]
pub(super) struct Notes {
    kinds: Vec<Kind>,
    /// Of each kind its place: a broken file may have very many.
    places: HashMap<String, usize>,
}

/// Notes of one kind.
#[derive(Clone, Debug)]
struct Kind {
    first: String,
    /// The same of cells of one column, of which there are several: before and after their number.
    several: Option<(String, String)>,
    count: usize,
}

impl Notes {
    /// One that comes once.
    pub(super) fn push(&mut self, text: String) {
        self.alike(&text.clone(), text);
    }

    /// One of which more of that kind may come.
    pub(super) fn alike(&mut self, kind: &str, text: String) {
        self.add(kind.to_owned(), Kind { first: text, several: None, count: 1 });
    }

    /// A value that cannot be used: `at` is its line or place, `whole` that with its column.
    pub(super) fn cell(&mut self, at: &str, whole: &str, column: &str, told: &str, reason: &str) {
        let new = Kind {
            first: format!("{whole}: {told} is {reason}; not used"),
            several: Some((
                column.to_owned(),
                format!("cells cannot be read, first {at}: {told} is {reason}; none is used"),
            )),
            count: 1,
        };
        self.add(format!("{column}: {reason}"), new);
    }

    fn add(&mut self, name: String, new: Kind) {
        let place = *self.places.entry(name).or_insert(self.kinds.len());
        match self.kinds.get_mut(place) {
            Some(kind) => kind.count += 1,
            None => self.kinds.push(new),
        }
    }

    /// One line a kind.
    pub(super) fn told(self) -> Vec<String> {
        let told = |kind: Kind| match (kind.count, kind.several) {
            (1, _) => kind.first,
            (count, Some((column, words))) => format!("{column}: {count} {words}"),
            (count, None) => format!("{} ({} more like it)", kind.first, count - 1),
        };
        self.kinds.into_iter().map(told).collect()
    }
}
