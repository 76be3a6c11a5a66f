//! Keys of requests that are being carried out by this program: the same key meanwhile is told to wait.

use std::collections::HashSet;
use std::sync::{Arc, Mutex, PoisonError};

type Keys = Arc<Mutex<HashSet<String>>>;

#[derive(Default)]
pub struct InFlight(Keys);

/// While it lives, the key is taken.
pub struct Flight {
    keys: Keys,
    key: String,
}

impl InFlight {
    /// None: it is being carried out already.
    pub fn begin(&self, key: &str) -> Option<Flight> {
        let is_new = self
            .0
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .insert(key.to_owned());
        is_new.then(|| Flight {
            keys: Arc::clone(&self.0),
            key: key.to_owned(),
        })
    }
}

impl Drop for Flight {
    fn drop(&mut self) {
        let mut keys = self.keys.lock().unwrap_or_else(PoisonError::into_inner);
        keys.remove(&self.key);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_key_is_taken_while_its_request_is_carried_out_and_free_afterwards() {
        let flights = InFlight::default();
        let first = flights.begin("a").expect("free");
        assert!(flights.begin("a").is_none());
        assert!(flights.begin("b").is_some());
        drop(first);
        assert!(flights.begin("a").is_some());
    }
}
