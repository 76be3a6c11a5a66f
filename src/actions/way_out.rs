//! Out of use: retired by a person, lost and found again, given away, withdrawn as entered by mistake.

use crate::actions::By;
use crate::actions::once::{self, Repeat};
use crate::actions::standing::{self, settle_because, settle_saying};
use crate::bench::form::{Against, Refusal};
use crate::club::release::{self, WayOut, WayOutRefusal};
use crate::club::sighting;
use crate::club::states::Life;
use crate::club::verdict::{Finding, Gravity};
use crate::store::book::disposals;
use crate::store::book::looks::{self, Bars};
use crate::store::lent::{self, Outcome};
use crate::store::packs::{self, PackView};
use crate::store::{Db, StoreError};
use uuid::Uuid;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Way {
    Retire,
    GiveAway,
    Withdraw,
    Lose,
    Find,
}

impl Way {
    pub const ALL: [Self; 5] = [
        Self::Retire,
        Self::GiveAway,
        Self::Withdraw,
        Self::Lose,
        Self::Find,
    ];

    pub const fn code(self) -> &'static str {
        match self {
            Self::Retire => "retire",
            Self::GiveAway => "give-away",
            Self::Withdraw => "withdraw",
            Self::Lose => "lost",
            Self::Find => "found",
        }
    }

    /// What the log says of it.
    const fn verb(self) -> &'static str {
        match self {
            Self::Retire => "retired",
            Self::GiveAway => "given away",
            Self::Withdraw => sighting::WITHDRAWN,
            Self::Lose => sighting::LOST,
            Self::Find => "found again",
        }
    }

    const fn leads_to(self) -> Life {
        match self {
            Self::Retire => Life::Retired,
            Self::GiveAway => Life::GivenAway,
            Self::Withdraw => Life::Withdrawn,
            Self::Lose => Life::Lost,
            Self::Find => Life::InUse,
        }
    }

    /// Whether it is one for such a pack, whoever asks and why.
    pub fn suits(self, life: Life, bars: &Bars) -> bool {
        self.refused(life, bars).is_none()
    }

    /// Why not.
    pub fn refused(self, life: Life, bars: &Bars) -> Option<WayOutRefusal> {
        let way = WayOut {
            life,
            is_on_loan: false,
            is_quartermaster: true,
            awaits_a_look: bars.awaits_a_look,
            reason: "asked",
        };
        self.refusal(&way, &bars.open).err()
    }

    fn refusal(self, way: &WayOut<'_>, open: &[Gravity]) -> Result<(), WayOutRefusal> {
        match self {
            Self::Retire => release::may_retire(way),
            Self::GiveAway => release::may_give_away(way, open),
            Self::Withdraw => release::may_withdraw(way, open),
            Self::Lose => release::may_lose(way),
            Self::Find => release::may_find(way),
        }
    }
}

#[derive(Debug, thiserror::Error)]
pub enum WayOutFailed {
    #[error("There is no such pack.")]
    NoPack,
    #[error(transparent)]
    Refused(#[from] WayOutRefusal),
    #[error(transparent)]
    Repeat(#[from] Repeat),
    #[error(transparent)]
    Store(#[from] StoreError),
}

impl Refusal for WayOutFailed {
    fn against(&self) -> Against {
        match self {
            Self::Refused(refusal) => refusal.against(),
            _ => Against::Typed,
        }
    }
}

pub async fn take_way(
    db: &Db,
    by: &By,
    pack_id: Uuid,
    way: Way,
    reason: &str,
) -> Result<PackView, WayOutFailed> {
    let mut tx = once::begin::<WayOutFailed>(db, by).await?;
    let pack = packs::by_id(&mut tx, pack_id)
        .await?
        .ok_or(WayOutFailed::NoPack)?;
    let bars = looks::bars(&mut tx, pack_id).await?;
    let asked = WayOut {
        life: pack.life(),
        is_on_loan: pack.is_lent(),
        is_quartermaster: by.actor.roles.is_quartermaster,
        awaits_a_look: bars.awaits_a_look,
        reason,
    };
    way.refusal(&asked, &bars.open)?;
    if disposals::is_disposed(&mut tx, pack_id).await? {
        return Err(WayOutRefusal::Gone.into());
    }
    if let (Way::Lose, Some(lent_id)) = (way, pack.lent_id) {
        lent::close(&mut tx, lent_id, Outcome::Lost, by.actor.id, by.at).await?;
    }
    let life = match way {
        Way::Find => packs::life_before(&mut tx, pack_id)
            .await?
            .unwrap_or(Life::InUse),
        other => other.leads_to(),
    };
    packs::set_life(&mut tx, pack_id, life).await?;
    if life == Life::InUse {
        standing::find(&mut tx, by, &pack, &Finding::found_again(), None).await?;
    }
    let said = Some(reason.trim()).filter(|reason| !reason.is_empty());
    let after = match way {
        // Why it was found is no reason for the state it has then.
        Way::Find => settle_saying(&mut tx, by, &pack, (way.verb(), said)).await?,
        _ => settle_because(&mut tx, by, &pack, (way.verb(), said)).await?,
    };
    once::finish(tx, by, &format!("/packs/{}", pack.number)).await?;
    Ok(after)
}
