//! Packs: the list, and one with what stands against it. A member reads of nobody else who has a pack, and nothing of what
//! was noted of it. New packs and changed details are `register`.

use super::charges::Charging;
use super::history::{BeforeAsked, History};
use super::operation::{Call, Nothing, Shown};
use super::pack_draw::PackDraw;
use super::storage::Storage;
use super::trouble::Trouble;
use super::words::{ReadVolts, in_its_unit, instant};
use crate::club::states::State as PackState;
use crate::store::care::InCare;
use crate::store::connectors;
use crate::store::findings::{self, OnePack};
use crate::store::pack_list::{self, PER_PAGE};
use crate::store::packs::{self, PackView};
use crate::web::history;
use crate::web::log_page::Line;
use crate::web::pack::since;
use crate::web::pack_next::next_of_each;
use crate::web::pack_row::PackRow;
use crate::web::packs::Wanted;
use crate::web::page::{PageError, ToPutRight};
use crate::web::scanned;
use crate::web::visit::SignedIn;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

#[derive(Clone, Debug, Default, Serialize, ToSchema)]
pub struct Pack {
    pub number: String,
    /// fit, caution, set_aside, quarantine, retired, not_known, lost, given_away or withdrawn.
    pub state: String,
    /// Why it is in that state, in a sentence.
    pub why: String,
    /// What is next to do; empty: nothing.
    pub next: String,
    pub state_since: String,
    pub design_id: Uuid,
    pub design: String,
    /// lipo, lihv, liion, lifepo4, nimh or pb.
    pub chemistry: String,
    pub cells_series: i64,
    pub groups_parallel: i64,
    pub capacity_mah: i64,
    /// Code of its connector.
    pub connector: String,
    /// null: it has none, only the whole pack can be read.
    pub balance_connector: Option<String>,
    pub place_id: Option<Uuid>,
    pub place: Option<String>,
    pub is_lent: bool,
    pub is_with_you: bool,
    /// For those who run the pool, and of your own.
    pub loan: Option<OnLoan>,
    /// Somebody took it home to put it to storage and has not brought it back; for those who run the pool, and of your own.
    pub home: Option<AtHome>,
    pub seen_at: String,
    pub read_at: Option<String>,
    pub volts: Option<ReadVolts>,
    /// How it is stored; null where that is not asked, and of a pack that is not in use.
    pub storage: Option<Storage>,
    /// The charge that works on it now: it goes out to nobody. null: none does.
    pub charging: Option<Charging>,
    pub details: OnRecord,
}

/// What is on record of a pack besides its state, that of its label among it.
#[derive(Clone, Debug, Default, Serialize, ToSchema)]
pub struct OnRecord {
    /// In tenths of C: 300 is 30C. null: not on the label.
    pub label_discharge_c_tenths: Option<i64>,
    pub label_charge_c_tenths: Option<i64>,
    /// Of each cell.
    pub label_full_mv: Option<i64>,
    pub label_lowest_mv: Option<i64>,
    pub mass_g: Option<i64>,
    pub size_mm: String,
    pub maker: String,
    pub batch: String,
    pub acquired_on: Option<String>,
    pub first_used_on: Option<String>,
    /// For those who run the pool; null for others.
    pub supplier: Option<String>,
    /// For those who run the pool; null for others.
    pub price: Option<String>,
    /// For those who run the pool; null for others.
    pub notes: Option<String>,
}

impl OnRecord {
    fn of(pack: &PackView, who: &SignedIn) -> Self {
        let noted = |text: &String| who.me.roles().may_read_notes().then(|| text.clone());
        Self {
            label_discharge_c_tenths: pack.label_discharge_c_tenths,
            label_charge_c_tenths: pack.label_charge_c_tenths,
            label_full_mv: pack.label_full_mv,
            label_lowest_mv: pack.label_lowest_mv,
            mass_g: pack.mass_g,
            size_mm: pack.size_mm.clone(),
            maker: pack.maker.clone(),
            batch: pack.batch.clone(),
            acquired_on: pack.acquired_on.clone(),
            first_used_on: pack.first_used_on.clone(),
            supplier: noted(&pack.supplier),
            price: noted(&pack.price),
            notes: noted(&pack.notes),
        }
    }
}

#[derive(Clone, Debug, Default, Serialize, ToSchema)]
pub struct OnLoan {
    pub loan_id: Uuid,
    /// Its line on the loan: what taking back, passing on and losing are about.
    pub lent_id: Uuid,
    pub holder_id: Uuid,
    /// null: they were erased.
    pub holder: Option<String>,
    pub due_on: Option<String>,
    pub since: Option<String>,
}

#[derive(Clone, Debug, Default, Serialize, ToSchema)]
pub struct AtHome {
    pub with_id: Uuid,
    /// null: they were erased.
    pub with: Option<String>,
    /// The day by which it is to be done.
    pub by_on: Option<String>,
}

impl Pack {
    /// With how it is stored.
    pub fn stored(one: &InCare, who: &SignedIn) -> Self {
        Self {
            storage: Storage::of(one, who),
            charging: Charging::of(&one.now, who),
            ..Self::of(&one.pack, who)
        }
    }

    pub fn of(pack: &PackView, who: &SignedIn) -> Self {
        let row = PackRow::of(pack, who);
        let is_with_you = pack.with_id() == Some(who.me.person_id);
        let may_know = is_with_you || who.me.roles().may_see_holders();
        let is_here = !pack.is_away() || who.oversees();
        Self {
            number: row.number,
            state: row.code.to_owned(),
            why: row.why,
            next: row.next,
            state_since: instant(since(pack, row.state, who)),
            design_id: pack.design_id,
            design: pack.design_name.clone(),
            chemistry: pack.chemistry.clone(),
            cells_series: pack.cells_series,
            groups_parallel: pack.groups_parallel,
            capacity_mah: pack.capacity_mah,
            connector: pack.connector.clone(),
            balance_connector: pack.balance_connector.clone(),
            place_id: pack.place_id.filter(|_| is_here),
            place: pack.place_name.clone().filter(|_| is_here),
            is_lent: pack.is_lent(),
            is_with_you,
            loan: on_loan(pack).filter(|_| may_know),
            home: at_home(pack).filter(|_| may_know),
            seen_at: instant(pack.seen_ms),
            read_at: pack.last_read_ms.map(instant),
            volts: pack.volts().map(ReadVolts::of),
            storage: None,
            charging: None,
            details: OnRecord::of(pack, who),
        }
    }
}

fn at_home(pack: &PackView) -> Option<AtHome> {
    Some(AtHome {
        with_id: pack.home_id?,
        with: pack.home_name.clone(),
        by_on: pack.home_by.clone(),
    })
}

fn on_loan(pack: &PackView) -> Option<OnLoan> {
    Some(OnLoan {
        loan_id: pack.loan_id?,
        lent_id: pack.lent_id?,
        holder_id: pack.holder_id?,
        holder: pack.holder_name.clone(),
        due_on: pack.due_on.clone(),
        since: pack.lent_ms.map(instant),
    })
}

pub fn example() -> Pack {
    Pack {
        number: "P-001".to_owned(),
        state: PackState::Fit.code().to_owned(),
        why: "Its cells are even.".to_owned(),
        state_since: "2026-11-25T18:30:00Z".to_owned(),
        seen_at: "2026-11-25T18:30:00Z".to_owned(),
        design: "Mill 3S 2200".to_owned(),
        chemistry: "lipo".to_owned(),
        cells_series: 3,
        groups_parallel: 1,
        capacity_mah: 2_200,
        connector: "xt60".to_owned(),
        balance_connector: Some("jst-xh".to_owned()),
        volts: ReadVolts::of_text(Some("3820 3810 3820")),
        ..Pack::default()
    }
}

#[derive(Serialize, ToSchema)]
pub struct Packs {
    /// At most 50.
    pub packs: Vec<Pack>,
    /// Where `gives_ma_min` is asked for: what is said against each of them in that use.
    pub draws: Vec<PackDraw>,
    /// What to ask for as `page` next; null: there are no more.
    pub next_page: Option<i64>,
}

impl Shown for Packs {
    fn example() -> Self {
        Self {
            packs: vec![example()],
            draws: vec![PackDraw::example()],
            next_page: Some(1),
        }
    }
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PacksAsked {
    /// fit, caution, set_aside, quarantine, retired, not_known, lost, given_away or withdrawn.
    state: Option<String>,
    cells_series: Option<i64>,
    capacity_mah_min: Option<i64>,
    capacity_mah_max: Option<i64>,
    /// What it must give for seconds, by its label.
    gives_ma_min: Option<i64>,
    /// Code of a connector.
    connector: Option<String>,
    place_id: Option<Uuid>,
    /// Members find what they have; of anybody else nothing.
    holder_id: Option<Uuid>,
    /// In number, design, maker and batch; for those who run the pool in notes too.
    text: Option<String>,
    /// number, state, what, where or seen.
    order: Option<String>,
    /// From 0.
    page: Option<i64>,
}

impl PacksAsked {
    fn wanted(self, text: String) -> Wanted {
        let number = |count: Option<i64>| count.map_or_else(String::new, |count| count.to_string());
        let id = |id: Option<Uuid>| id.map_or_else(String::new, |id| id.to_string());
        Wanted {
            state: self.state.unwrap_or_default(),
            cells: number(self.cells_series),
            mah_from: number(self.capacity_mah_min),
            mah_to: number(self.capacity_mah_max),
            amps_from: self
                .gives_ma_min
                .map_or_else(String::new, |ma| format!("{ma} mA")),
            connector: self.connector.unwrap_or_default(),
            place: id(self.place_id),
            holder: id(self.holder_id),
            text,
            order: self.order.unwrap_or_default(),
            page: number(self.page.map(|page| page.clamp(0, 1_000_000))),
        }
    }
}

/// Called in the address as in the list's own form.
fn called(field: &str) -> String {
    match field {
        "cells" => "cells_series",
        "mah_from" => "capacity_mah_min",
        "mah_to" => "capacity_mah_max",
        "amps_from" => "gives_ma_min",
        "place" => "place_id",
        "holder" => "holder_id",
        other => other,
    }
    .to_owned()
}

pub async fn list(call: Call<PacksAsked>) -> Result<Packs, Trouble> {
    let text = call.sent.text.clone().unwrap_or_default();
    let text = scanned::as_numbers(&call.app, &text).await?;
    let mut conn = call.app.db.read().await?;
    let families = connectors::all(&mut conn).await?;
    let (asked, problems) = call.sent.wanted(text).read(&call.who, &families);
    if !problems.is_empty() {
        let mut told: ToPutRight = (&problems).into();
        for (field, words) in &mut told.problems {
            *field = called(field);
            for unit in ["_mah", "_ma"] {
                if field.contains(&format!("{unit}_")) {
                    *words = in_its_unit(unit, std::mem::take(words), true);
                }
            }
        }
        return Err(Trouble::put_right(told));
    }
    let mut found = pack_list::find(&mut conn, &asked).await?;
    let at_most = usize::try_from(PER_PAGE).unwrap_or(usize::MAX);
    let has_more = found.len() > at_most;
    found.truncate(at_most);
    Ok(Packs {
        packs: found
            .iter()
            .map(|one| Pack::stored(&one.care, &call.who))
            .collect(),
        draws: found
            .iter()
            .filter_map(|one| PackDraw::of(one, (&asked, &families), &call.who))
            .collect(),
        next_page: has_more.then_some(asked.page + 1),
    })
}

/// What stands against a pack.
#[derive(Clone, Debug, Default, Serialize, ToSchema)]
pub struct OpenFinding {
    pub id: Uuid,
    /// Code of the rule that found it.
    pub rule: String,
    /// note, caution, not_known, to_mend, danger or final_danger.
    pub gravity: String,
    pub words: String,
    pub next: String,
    pub found_at: String,
    /// For those who run the pool.
    pub found_by: Option<String>,
}

#[derive(Serialize, ToSchema)]
pub struct PackWithFindings {
    pub pack: Pack,
    pub findings: Vec<OpenFinding>,
}

impl Shown for PackWithFindings {
    fn example() -> Self {
        Self {
            pack: example(),
            findings: vec![OpenFinding {
                rule: "wrap_torn".to_owned(),
                gravity: "to_mend".to_owned(),
                words: "Its outer wrap is torn.".to_owned(),
                found_at: "2026-11-25T18:30:00Z".to_owned(),
                ..OpenFinding::default()
            }],
        }
    }
}

pub async fn show(call: Call<Nothing>) -> Result<PackWithFindings, Trouble> {
    let mut conn = call.app.db.read().await?;
    let OnePack { care, open, .. } = findings::with_pack(&mut conn, &call.name.to_uppercase())
        .await?
        .ok_or(PageError::NotFound)?;
    let pack = &care.pack;
    let who = &call.who;
    let may_know = who.me.roles().may_see_holders();
    let next = next_of_each(pack, &open);
    let open = open.into_iter().zip(next);
    let open = open.map(|((found, by), next)| OpenFinding {
        id: found.id,
        rule: found.rule.clone(),
        gravity: found.gravity.clone(),
        words: who.numbers().sentence(&found.words),
        next: who.numbers().sentence(&next),
        found_at: instant(found.found_ms),
        found_by: by.filter(|_| may_know),
    });
    Ok(PackWithFindings {
        findings: open.collect(),
        pack: Pack::stored(&care, who),
    })
}

pub async fn history(call: Call<BeforeAsked>) -> Result<History, Trouble> {
    let mut conn = call.app.db.read().await?;
    let pack = packs::by_number(&mut conn, &call.name.to_uppercase())
        .await?
        .ok_or(PageError::NotFound)?;
    let part = history::part(&mut conn, pack.id, &call.sent.as_page()).await?;
    Ok(History::told(part, |entry| Line::of(entry, &call.who)))
}
