//! One errand at the table: the loan lines it is about, and which of them somebody else had closed before. It travels in
//! the address of the next page, so that reloading and going back tell the same.

use uuid::Uuid;

#[derive(Clone, Debug, Default)]
pub struct Errand {
    /// Every line of it that was looked at.
    pub lent: Vec<Uuid>,
    /// Lines whose packs still want volts.
    pub volts: Vec<Uuid>,
    /// Lines that were closed already, with nothing new to store.
    pub already: Vec<Uuid>,
    /// Lines that were closed already; what was seen on their packs is stored all the same.
    pub seen_late: Vec<Uuid>,
    /// The same for volts.
    pub read_late: Vec<Uuid>,
    /// A place to which something was brought and that holds more energy than it may.
    pub over: Option<Uuid>,
}

impl Errand {
    /// Where it goes on: to the volts that are still wanted, else to what happened.
    pub fn address(&self) -> String {
        let volts = self.volts.iter().map(|id| format!("volts={id}"));
        let done = self.done().map(|(name, id)| format!("{name}={id}"));
        let pairs: Vec<String> = volts.chain(done).collect();
        let page = if self.volts.is_empty() {
            "done"
        } else {
            "volts"
        };
        format!("/take-back/{page}?{}", pairs.join("&"))
    }

    /// Names and values by which the next page knows what is done.
    pub fn done(&self) -> impl Iterator<Item = (&'static str, Uuid)> {
        let lists = [
            ("lent", &self.lent),
            ("already", &self.already),
            ("seen_late", &self.seen_late),
            ("read_late", &self.read_late),
        ];
        let pairs = |(name, ids): (&'static str, &Vec<Uuid>)| {
            let ids: Vec<_> = ids.iter().map(|id| (name, *id)).collect();
            ids
        };
        let over = self.over.map(|id| ("over", id));
        lists.into_iter().flat_map(pairs).chain(over)
    }

    /// Lines that somebody else had closed before.
    pub fn late(&self) -> impl Iterator<Item = Uuid> {
        let lists = [&self.already, &self.seen_late, &self.read_late];
        lists.into_iter().flatten().copied()
    }

    pub fn was_back(&self, line: Uuid) -> bool {
        self.late().any(|late| late == line)
    }

    pub(super) fn dealt_with(&mut self, line: Uuid) {
        add(&mut self.lent, line);
    }

    pub(super) fn seen_late(&mut self, line: Uuid) {
        self.already.retain(|other| *other != line);
        add(&mut self.seen_late, line);
    }

    pub(super) fn read_late(&mut self, line: Uuid) {
        self.already.retain(|other| *other != line);
        add(&mut self.read_late, line);
    }

    /// Closed by somebody else, with nothing to store.
    pub fn was_back_already(&mut self, line: Uuid) {
        add(&mut self.lent, line);
        if !self.was_back(line) {
            self.already.push(line);
        }
    }
}

fn add(list: &mut Vec<Uuid>, line: Uuid) {
    if !list.contains(&line) {
        list.push(line);
    }
}
