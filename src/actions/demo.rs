//! The demo club: the invented Millrace Robotics Club, made by the same actions people use.

use crate::actions::passwords::Hasher;
use crate::club::calendar::Instant;
use crate::store::{Db, StoreError};

pub struct SignIn {
    pub role: &'static str,
    pub name: String,
    pub password: String,
}

#[derive(Debug, thiserror::Error)]
pub enum DemoRefusal {
    #[error("There is a club here already; the demo would mix with its data.")]
    HasClub,
    #[error(transparent)]
    Store(#[from] StoreError),
}

pub async fn start(_db: &Db, _hasher: &Hasher, _at: Instant) -> Result<Vec<SignIn>, DemoRefusal> {
    Err(DemoRefusal::HasClub)
}
