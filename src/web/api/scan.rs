//! What a scanned label tells: its pack, what may be done about it now, and how it is charged. What is gathered on a phone is
//! the browser's.

use super::document;
use super::operation::{Call, Nothing, Shown};
use super::packs::{self, Pack};
use super::trouble::Trouble;
use crate::bench::plan::By;
use crate::store::care;
use crate::store::labels::OnLabel;
use crate::web::pack_row::PackRow;
use crate::web::page::PageError;
use crate::web::scan::{May as MayDo, look_up};
use crate::web::scan_charge::Charging;
use crate::web::visit::SignedIn;
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// What you may do about a pack now.
#[derive(Clone, Debug, Default, Serialize, ToSchema)]
pub struct May {
    /// Take it, or hand it out.
    pub borrow: bool,
    /// Its line on the loan, to be taken back; null: not by you, or it is not out.
    pub take_back_lent_id: Option<Uuid>,
    /// Its line on your loan, to be brought back; null: you do not have it, or it is watched and nobody carries it yet.
    pub bring_back_lent_id: Option<Uuid>,
    pub log_volts: bool,
    pub report: bool,
}

impl From<MayDo> for May {
    fn from(may: MayDo) -> Self {
        Self {
            borrow: may.borrow,
            take_back_lent_id: may.take_back,
            bring_back_lent_id: may.bring_back,
            log_volts: may.log_volts,
            report: may.report,
        }
    }
}

/// How a pack is charged: balanced where it can be, watched, where nothing around it can burn. What the charger's own label
/// says comes first where it says less.
#[derive(Clone, Debug, Default, Serialize, ToSchema)]
pub struct Charge {
    /// No more than that; null: there is none now.
    pub current_ma: Option<i64>,
    /// In tenths of C: 10 is 1C.
    pub rate_c_tenths: i64,
    /// The rate is that of its label; else the gentle rate of its kind.
    pub is_by_label: bool,
    /// Where it lies it is too cold or too warm for more.
    pub is_by_warmth: bool,
    /// Why it must not be charged now, or need not be, in sentences.
    pub dont: Vec<String>,
    /// To full; null: its volts do not tell it.
    pub time: Option<ChargeTime>,
    /// Its last reading does not tell what is in it now.
    pub log_volts_first: bool,
    /// A finished charge filled it, which its volts don't tell; it is not charged again before a day is over or it was used.
    pub is_full: bool,
    pub is_charging: bool,
    /// Only from that temperature on.
    pub from_celsius: i64,
    /// Only up to that temperature.
    pub to_celsius: i64,
}

#[derive(Clone, Debug, Default, Serialize, ToSchema)]
pub struct ChargeTime {
    pub least_minutes: i64,
    pub most_minutes: i64,
    /// Of a cell, when it begins.
    pub from_mv: i64,
}

impl Charge {
    fn of(one: &OnLabel, who: &SignedIn) -> Self {
        let (charging, limits) = (Charging::of(one, who), who.club.limits());
        Self {
            current_ma: charging.current_ma,
            rate_c_tenths: charging.rate_c_tenths,
            is_by_label: charging.by == By::Label,
            is_by_warmth: charging.by == By::Warmth,
            dont: charging.dont,
            time: charging.about.map(|(about, from_mv)| ChargeTime {
                least_minutes: about.least_minutes,
                most_minutes: about.most_minutes,
                from_mv,
            }),
            log_volts_first: charging.log_first,
            is_full: charging.is_full,
            is_charging: charging.is_running,
            from_celsius: limits.charge_from_celsius,
            to_celsius: limits.charge_to_celsius,
        }
    }
}

#[derive(Serialize, ToSchema)]
pub struct Scanned {
    pub pack: Pack,
    pub may: May,
    /// null: it is neither fit nor cautioned, and not to be charged.
    pub charge: Option<Charge>,
}

impl Shown for Scanned {
    fn example() -> Self {
        Self {
            pack: packs::example(),
            may: May {
                bring_back_lent_id: Some(document::LENT),
                log_volts: true,
                report: true,
                ..May::default()
            },
            charge: Some(Charge {
                current_ma: Some(2_200),
                rate_c_tenths: 10,
                time: Some(ChargeTime {
                    least_minutes: 45,
                    most_minutes: 65,
                    from_mv: 3_820,
                }),
                to_celsius: 45,
                ..Charge::default()
            }),
        }
    }
}

pub async fn show(call: Call<Nothing>) -> Result<Scanned, Trouble> {
    let who = &call.who;
    let one = look_up(&call.app, who, &call.name)
        .await?
        .ok_or(PageError::NotFound)?;
    let pack = &one.pack;
    let state = PackRow::of(pack, who).state;
    let care = care::by_id(&mut call.app.db.read().await?, pack.id).await?;
    let told = care.map_or_else(|| Pack::of(pack, who), |one| Pack::stored(&one, who));
    Ok(Scanned {
        may: MayDo::of(&one, state, who).into(),
        charge: state.shows_settings().then(|| Charge::of(&one, who)),
        pack: told,
    })
}
