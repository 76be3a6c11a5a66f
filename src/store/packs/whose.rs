//! Who has a pack: on a loan, or at home, taken there from a storage round to be put to storage. Nobody: it lies at a place.

use super::PackView;
use uuid::Uuid;

impl PackView {
    pub const fn is_at_home(&self) -> bool {
        self.home_id.is_some()
    }

    /// On a loan, or at somebody's home.
    pub const fn is_away(&self) -> bool {
        self.is_lent() || self.is_at_home()
    }

    /// Whoever has it, on a loan or at home.
    pub fn with_id(&self) -> Option<Uuid> {
        self.holder_id.or(self.home_id)
    }

    /// Today's name of whoever has it; None where nobody has.
    pub fn with_name(&self) -> Option<&str> {
        let lent = self.holder_id.map(|_| self.holder_name.as_deref());
        let home = self.home_id.map(|_| self.home_name.as_deref());
        lent.or(home).map(|name| name.unwrap_or("(erased)"))
    }
}
