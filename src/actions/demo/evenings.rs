//! What happened at the demo club: evenings on which packs went out and came back, and what came to light. In the end
//! every state a pack can have stands in the pool. All of it invented.

use super::{DAYS, Teller, slip};
use crate::actions::By;
use crate::actions::bring_back::{Brought, bring_back};
use crate::actions::condition::{Looked, report_condition};
use crate::actions::errand::Errand;
use crate::actions::hand_out::{HandOut, hand_out};
use crate::actions::lying::lies_there;
use crate::actions::night::{self, NewNight};
use crate::actions::reading::{Logged, Measured, log_volts};
use crate::actions::see_to_kit;
use crate::actions::take_back::{LookedAt, VoltsOf, look, take_back};
use crate::actions::way_out::{Way, take_way};
use crate::battery::milliohms::Milliohms;
use crate::battery::volts::Volts;
use crate::bench::plan::Purpose;
use crate::club::charging::Outcome;
use crate::club::lending::Typed;
use crate::club::places::PlaceKind;
use crate::club::reading::Rested;
use crate::club::reading::beside::{Beside, Charge, Context};
use crate::club::seen::Seen;
use crate::store::book::watches;
use crate::store::packs::{self, PackView};
use crate::store::{StoreError, kit, loans, places};
use uuid::Uuid;

pub(super) type Told = Result<(), StoreError>;

pub(super) async fn tell(teller: &Teller<'_>) -> Told {
    teller.first_readings().await?;
    teller.first_evening().await?;
    teller.second_evening().await?;
    teller.the_incident().await?;
    teller.a_day_of_tidying().await?;
    teller.the_last_days().await?;
    teller.tonight().await
}

impl Teller<'_> {
    /// Everything is read at storage volts but the youngest pack, which nobody ever read.
    async fn first_readings(&self) -> Told {
        let by = self.quinn(self.on(DAYS - 3, "19:30"));
        for number in 1..=17 {
            let cells = self.pack(number).await?.build().cells_series;
            let mv = |cell: i64| 3_840 + (number * 7 + cell * 5) % 17;
            let is_compared = (7..=12).contains(&number);
            let beside = is_compared.then(|| off_the_large_charger((number * 11) % 23));
            let read = ((0..cells).map(mv).collect(), beside.as_ref());
            self.read_with(&by, number, read).await?;
        }
        self.read(&by, 18, vec![3_290, 3_295]).await?;
        self.read(&by, 19, vec![3_690, 3_700, 3_695]).await
    }

    /// Mo drives three, one of them charged before; one comes back with a cell that lags a little.
    async fn first_evening(&self) -> Told {
        let charged = (Outcome::Finished, vec![4_190, 4_185, 4_190]);
        let charge = self.charge_before(28, 8, charged).await?;
        let logged = self.quinn(self.on(28, "17:45"));
        self.bring_in_log(&logged, charge).await?;
        let items = vec![
            Typed::Packs(7, 9),
            Typed::Number("C-01".to_owned(), 1),
            Typed::Number("A-01".to_owned(), 2),
        ];
        let out = self.quinn(self.on(28, "18:30"));
        self.lend(&out, self.cast.mo, items, "arena practice")
            .await?;
        let back = self.quinn(self.on(28, "21:10"));
        self.see_kit_back(&back).await?;
        self.take(&back, 7, &[3_790, 3_800, 3_795]).await?;
        self.take(&back, 8, &[3_790, 3_745, 3_785]).await?;
        self.take(&back, 9, &[3_810, 3_810, 3_805]).await
    }

    /// Whoever stays with a charge before an evening, from half past four on.
    async fn charge_before(
        &self,
        days_ago: i64,
        number: i64,
        ended: (Outcome, Vec<i64>),
    ) -> Result<Uuid, StoreError> {
        let at = |hour_minute| self.quinn(self.on(days_ago, hour_minute));
        self.read(&at("16:30"), number, vec![3_815, 3_810, 3_815])
            .await?;
        let in_time = Purpose::ReadyBy { minutes: 110 };
        let charge = self.charge(&at("16:35"), number, in_time).await?;
        self.end_charge(&at("17:20"), charge, ended).await?;
        Ok(charge)
    }

    /// Ada's second pack comes back swollen: quarantine, and a caution for its batch.
    async fn second_evening(&self) -> Told {
        let stopped = (Outcome::Stopped, vec![4_120, 4_115, 4_120]);
        self.charge_before(14, 10, stopped).await?;
        let out = self.quinn(self.on(14, "18:40"));
        self.lend(
            &out,
            self.cast.ada,
            vec![Typed::Packs(10, 11)],
            "league night",
        )
        .await?;
        let back = self.quinn(self.on(14, "21:05"));
        self.take(&back, 10, &[3_760, 3_765, 3_760]).await?;
        self.see(&back, 11, Seen::Swollen).await.map(|_| ())
    }

    async fn a_day_of_tidying(&self) -> Told {
        let at = |hour_minute| self.quinn(self.on(9, hour_minute));
        self.report(&at("10:00"), 13, Seen::BalancePlugDamaged)
            .await?;
        self.read(&at("10:10"), 6, vec![3_860, 3_735]).await?;
        self.read(&at("10:15"), 4, vec![3_820, 2_430]).await?;
        let worn = "Half its capacity is gone; the maker's sheet calls that the end.";
        self.way_out(&at("10:30"), 5, (Way::Retire, worn)).await?;
        let missing = "Not in the cabinet, not in the van.";
        self.way_out(&at("10:40"), 2, (Way::Lose, missing)).await?;
        self.set_one_aside(&at("10:50"), "A-02", "A pin is bent.")
            .await?;
        self.carry_to_quarantine(&at("12:30")).await
    }

    /// What was found to be dangerous where it lay, once its first hour is over.
    async fn carry_to_quarantine(&self, by: &By) -> Told {
        let mut conn = self.db.read().await?;
        let all = places::by_kind(&mut conn, PlaceKind::Quarantine).await?;
        let place = all.first().ok_or_else(|| slip("no quarantine place"))?.id;
        let watched = watches::all(&mut conn).await?;
        drop(conn);
        let packs = watched.iter().map(|one| &one.pack);
        for pack in packs.filter(|pack| pack.place_id != Some(place)) {
            let carried = lies_there(self.db, by, pack.id, (place, false)).await;
            carried.map_err(slip)?;
        }
        Ok(())
    }

    async fn set_one_aside(&self, by: &By, number: &str, why: &str) -> Told {
        let found = kit::by_number(&mut self.db.read().await?, number).await?;
        let id = found.ok_or_else(|| slip("no such kit"))?.id;
        let set_aside = see_to_kit::set_aside(self.db, by, id, (why, Some(1))).await;
        set_aside.map(|_| ()).map_err(slip)
    }

    /// Bram should have brought his back; Ada put hers on the table with nobody there.
    async fn the_last_days(&self) -> Told {
        let at = self.quinn(self.on(4, "19:00"));
        let due = Some(at.zone.day_of(at.at).plus_days(2));
        let wanted = wants(self.cast.bram, vec![Typed::Packs(16, 16)], "away league");
        let wanted = HandOut { due, ..wanted };
        hand_out(self.db, &at, &wanted).await.map_err(slip)?;
        let out = self.quinn(self.on(3, "19:05"));
        let items = vec![Typed::Packs(14, 14), Typed::Number("A-01".to_owned(), 2)];
        self.lend(&out, self.cast.ada, items, "practice").await?;
        // Within a day, whatever the hour is now: so it stands among what is back.
        let ada = self.member(self.cast.ada, self.now.plus_hours(-20));
        let hers = loans::out_with(&mut self.db.read().await?, self.cast.ada).await?;
        for line in hers {
            let brought = Brought {
                looked: saw(Seen::Nothing),
                kit_words: "",
                counted: None,
            };
            bring_back(self.db, &ada, line.lent_id, &brought)
                .await
                .map_err(slip)?;
        }
        Ok(())
    }

    /// Two charge beside each other before the night; the large one still does, gently.
    async fn charging_tonight(&self) -> Told {
        let at = |minutes_ago: i64| self.quinn(self.now.plus_minutes(-minutes_ago));
        self.read(&at(165), 17, vec![3_850; 6]).await?;
        let in_time = Purpose::ReadyBy { minutes: 90 };
        let quick = self.charge(&at(160), 17, in_time).await?;
        self.read(&at(105), 19, vec![3_690, 3_700, 3_695]).await?;
        let no_hurry = Purpose::NoHurry { there_minutes: 300 };
        self.charge(&at(100), 19, no_hurry).await?;
        let full = vec![4_180, 4_190, 4_190, 4_180, 4_190, 4_190];
        self.end_charge(&at(95), quick, (Outcome::Finished, full))
            .await
    }

    /// The night is open, Mo has two, and one that waits was just read.
    async fn tonight(&self) -> Told {
        self.charging_tonight().await?;
        let by = self.quinn(self.now.plus_minutes(-90));
        let ends = self.now.plus_hours(3);
        let new = NewNight {
            place_id: self.table().await?,
            on_duty_id: self.cast.quinn,
            ends_on: self.zone.day_of(ends),
            ends_at: self.zone.time_words(ends),
        };
        night::open(self.db, &by, &new).await.map_err(slip)?;
        let fresh = self.quinn(self.now.plus_minutes(-80));
        self.read_with(&fresh, 1, (vec![4_190, 4_180], Some(&off_the_charger())))
            .await?;
        let again = off_the_large_charger(24);
        self.read_with(&fresh, 9, (vec![3_800, 3_805, 3_800], Some(&again)))
            .await?;
        let items = vec![
            Typed::Packs(1, 1),
            Typed::Packs(7, 7),
            Typed::Number("C-02".to_owned(), 1),
            Typed::Number("A-02".to_owned(), 1),
        ];
        let out = self.quinn(self.now.plus_minutes(-70));
        self.lend(&out, self.cast.mo, items, "").await
    }

    async fn pack(&self, number: i64) -> Result<PackView, StoreError> {
        let mut conn = self.db.read().await?;
        let found = packs::by_number(&mut conn, &format!("P-{number:03}")).await?;
        found.ok_or_else(|| slip("no such pack"))
    }

    async fn lent_id(&self, number: i64) -> Result<Uuid, StoreError> {
        let pack = self.pack(number).await?;
        pack.lent_id.ok_or_else(|| slip("not out"))
    }

    async fn table(&self) -> Result<Uuid, StoreError> {
        let mut conn = self.db.read().await?;
        let tables = places::by_kind(&mut conn, PlaceKind::Table).await?;
        Ok(tables.first().ok_or_else(|| slip("no table"))?.id)
    }

    async fn read(&self, by: &By, number: i64, cells: Vec<i64>) -> Told {
        self.read_with(by, number, (cells, None)).await
    }

    async fn read_with(&self, by: &By, number: i64, read: (Vec<i64>, Option<&Beside>)) -> Told {
        let (cells, beside) = read;
        let pack = self.pack(number).await?;
        let measured = rested(cells);
        let logged = Logged {
            beside,
            ..Logged::volts(&measured, true)
        };
        log_volts(self.db, by, pack.id, logged)
            .await
            .map_err(slip)?;
        Ok(())
    }

    async fn report(&self, by: &By, number: i64, seen: Seen) -> Told {
        let pack = self.pack(number).await?;
        report_condition(self.db, by, pack.id, &saw(seen))
            .await
            .map_err(slip)?;
        Ok(())
    }

    async fn way_out(&self, by: &By, number: i64, way: (Way, &str)) -> Told {
        let pack = self.pack(number).await?;
        take_way(self.db, by, pack.id, way.0, way.1)
            .await
            .map_err(slip)?;
        Ok(())
    }

    async fn lend(&self, by: &By, to: Uuid, items: Vec<Typed>, purpose: &str) -> Told {
        hand_out(self.db, by, &wants(to, items, purpose))
            .await
            .map_err(slip)?;
        Ok(())
    }

    /// What is seen on it; the loan lines that still want volts.
    async fn see(&self, by: &By, number: i64, seen: Seen) -> Result<Vec<Uuid>, StoreError> {
        let one = looked_at(self.lent_id(number).await?, saw(seen));
        let step = look(self.db, by, &[one], &Errand::default())
            .await
            .map_err(slip)?;
        Ok(step.volts)
    }

    async fn take(&self, by: &By, number: i64, cells: &[i64]) -> Told {
        for lent_id in self.see(by, number, Seen::Nothing).await? {
            let volts = VoltsOf {
                lent_id,
                measured: rested(cells.to_vec()),
                place_id: None,
            };
            take_back(self.db, by, &[volts], &Errand::default())
                .await
                .map_err(slip)?;
        }
        Ok(())
    }

    /// All kit that is out, with nothing to see on it.
    async fn see_kit_back(&self, by: &By) -> Told {
        let out = {
            let mut conn = self.db.read().await?;
            loans::all_out(&mut conn).await?
        };
        let kit = out.iter().filter(|line| line.pack_id.is_none());
        let all: Vec<LookedAt> = kit
            .map(|line| looked_at(line.lent_id, Looked::default()))
            .collect();
        look(self.db, by, &all, &Errand::default())
            .await
            .map_err(slip)?;
        Ok(())
    }
}

fn wants(borrower_id: Uuid, items: Vec<Typed>, purpose: &str) -> HandOut {
    HandOut {
        borrower_id,
        items,
        due: None,
        purpose: purpose.to_owned(),
        override_reason: String::new(),
        volts_now: Vec::new(),
        looked_at: Vec::new(),
    }
}

fn saw(seen: Seen) -> Looked {
    Looked {
        seen: vec![seen],
        ..Looked::default()
    }
}

fn looked_at(lent_id: Uuid, looked: Looked) -> LookedAt {
    LookedAt {
        lent_id,
        is_here: true,
        looked,
        kit_words: String::new(),
        counted: None,
        to_mend: None,
    }
}

/// What the little charger shows of a pack of two cells beside their volts.
fn off_the_charger() -> Beside {
    Beside {
        resistance: Milliohms::of_cells(vec![310, 320], 2),
        meter: Some("C-02".to_owned()),
        meter_kind: None,
        celsius: Some(21),
        charge: Some(Charge::PutIn(150)),
        context: Some(Context::AfterCharge),
    }
}

/// What the large charger shows of a pack of three cells beside their volts, some tenths of a milliohm more for one than another.
fn off_the_large_charger(more_tenths: i64) -> Beside {
    let tenths = [183, 179, 188].map(|tenths| tenths + more_tenths);
    Beside {
        resistance: Milliohms::of_cells(tenths.into(), 3),
        meter: Some("C-01".to_owned()),
        meter_kind: None,
        celsius: Some(20),
        charge: None,
        context: None,
    }
}

fn rested(cells: Vec<i64>) -> Measured {
    Measured::Read {
        volts: Volts::Cells(cells),
        rested: Rested::AN_HOUR,
        is_confirmed: false,
    }
}
