//! What of a file cannot be used. A column in the wrong unit spoils each of its cells, and 156 notes
//! alike hide the one that differs: those of one kind are told once, with their number.

/// Notes on a file, in the order in which the first of each kind came.
#[derive(Clone, Debug, Default)]
pub(super) struct Notes(Vec<Kind>);

/// Notes of one kind.
#[derive(Clone, Debug)]
struct Kind {
    name: String,
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
        self.add(Kind { name: kind.to_owned(), first: text, several: None, count: 1 });
    }

    /// A value that cannot be used: `at` is its line or place, `whole` that with its column.
    pub(super) fn cell(&mut self, at: &str, whole: &str, column: &str, told: &str, reason: &str) {
        self.add(Kind {
            name: format!("{column}: {reason}"),
            first: format!("{whole}: {told} is {reason}; not used"),
            several: Some((
                column.to_owned(),
                format!("cells cannot be read, first {at}: {told} is {reason}; none is used"),
            )),
            count: 1,
        });
    }

    fn add(&mut self, new: Kind) {
        match self.0.iter_mut().find(|kind| kind.name == new.name) {
            Some(kind) => kind.count += 1,
            None => self.0.push(new),
        }
    }

    /// One line a kind.
    pub(super) fn told(self) -> Vec<String> {
        let told = |kind: Kind| match (kind.count, kind.several) {
            (1, _) => kind.first,
            (count, Some((column, words))) => format!("{column}: {count} {words}"),
            (count, None) => format!("{} ({} more like it)", kind.first, count - 1),
        };
        self.0.into_iter().map(told).collect()
    }
}
