//! What a take-back in one request is about, weighed before anything of it is done: lines that are none or come twice, what a
//! thing has no place for, and volts, rest and places that the second form would refuse.

use super::form::{Form, Sent};
use super::operation::Call;
use super::readings::{confirmed, typed};
use super::returned::{Field, Of, misplaced, of_condition};
use super::take_back::{TakeBack, TakenBack, volts_form};
use super::words::in_its_unit;
use crate::actions::take_back::is_danger_seen;
use crate::actions::volts_now::is_danger;
use crate::bench::form::{Against, Fields, Problems};
use crate::club::glance::Glance;
use crate::club::reading::Rested;
use crate::store::loans::LoanLine;
use crate::store::packs::{self, PackView};
use crate::store::places::may_be_named;
use crate::store::{Conn, StoreError, loans};
use crate::web::glance::Answer;
use crate::web::page::PageError;
use crate::web::visit::SignedIn;
use crate::web::volts_form::{VoltsForm, Wrong};
use crate::web::{take_back_items, take_back_volts};
use axum::extract::State;
use uuid::Uuid;

/// What a request names, in its order.
pub struct Things(Vec<Thing>);

struct Thing {
    item: TakenBack,
    /// None: there is no such line of a loan.
    line: Option<LoanLine>,
    pack: Option<PackView>,
    answer: Answer,
    /// Danger was seen on it before, while it was out.
    is_dangerous: bool,
}

impl Thing {
    /// Its volts are asked for.
    fn goes_on_to_volts(&self) -> bool {
        self.answer.is_here && !self.is_dangerous && !self.answer.looked.is_danger()
    }

    fn fields(&self) -> impl Iterator<Item = Field> {
        let item = &self.item;
        let of_kit = [
            ("kit_words", Of::Kit, !item.kit_words.trim().is_empty()),
            ("count", Of::Adapters, item.count.is_some()),
            ("to_mend", Of::Adapters, item.to_mend.is_some()),
        ];
        of_condition(&item.condition)
            .into_iter()
            .chain(of_kit)
            .chain(self.fields_of_volts())
    }

    fn fields_of_volts(&self) -> [Field; 5] {
        let item = &self.item;
        [
            ("volts_mv", Of::Packs, !item.volts_mv.is_empty()),
            ("unread", Of::Packs, !item.unread.trim().is_empty()),
            ("rested", Of::Packs, !item.rested.trim().is_empty()),
            ("is_confirmed", Of::Packs, item.is_confirmed),
            ("place_id", Of::Packs, item.place_id.is_some()),
        ]
    }

    fn measured(&self, who: &SignedIn) -> Option<Result<bool, Wrong>> {
        let pack = self.pack.as_ref()?;
        let by = who.by(&Fields::default());
        let mut volts = VoltsForm {
            boxes: typed(&self.item.volts_mv),
            unread: self.item.unread.trim().to_owned(),
            confirmed: confirmed(self.item.is_confirmed).to_owned(),
            ..VoltsForm::default()
        };
        let rested = Rested::from_code(self.item.rested.trim());
        let measured = volts.read_or_ask(&by, pack, rested, who.numbers());
        Some(measured.map(|measured| is_danger(&by, pack, &measured)))
    }

    /// Danger that is read on it; of what is still out a meter reads nothing.
    fn is_dangerous_by_volts(&self, who: &SignedIn) -> bool {
        let is_here = self.answer.glance != Glance::StillOut;
        is_here && matches!(self.measured(who), Some(Ok(true)))
    }

    async fn problems(
        &self,
        conn: &mut Conn,
        of: &str,
        who: &SignedIn,
    ) -> Result<Problems, StoreError> {
        let Some(line) = &self.line else {
            let words = "There is no such line of a loan.";
            return Ok(Problems::one(&format!("{of}lent_id"), words));
        };
        if !line.is_out() {
            let number = &line.out.number;
            let words = format!(
                "{number} is back already. What is dangerous is stored; log other volts with /packs/{{number}}/volts."
            );
            return Ok(Problems::one(&format!("{of}lent_id"), words).by(Against::Rule));
        }
        let mut problems = misplaced(&line.out, of, self.fields());
        if self.pack.is_none() || !problems.is_empty() {
            return Ok(problems);
        }
        if self.goes_on_to_volts() {
            if let Some(Err(wrong)) = self.measured(who) {
                let is_below = self.item.volts_mv.iter().any(|mv| *mv < 0);
                for (part, words) in wrong.into_parts() {
                    let field = if part == "volts_line" {
                        "volts_mv"
                    } else {
                        part
                    };
                    problems.add(&format!("{of}{field}"), in_its_unit(field, words, is_below));
                }
            }
            if !may_be_named(conn, self.item.place_id).await? {
                problems.add(&format!("{of}place_id"), "Choose a place of the club.");
            }
        } else if self.answer.refusal.is_none() {
            let number = &line.out.number;
            let words = if self.answer.is_here {
                format!(
                    "{number} is dangerous: nobody connects it to a meter, and it goes to quarantine. Leave this out."
                )
            } else {
                format!("{number} is said to be still out. Say this once it is here.")
            };
            let sent = self
                .fields_of_volts()
                .into_iter()
                .filter(|(_, _, is_sent)| *is_sent);
            sent.for_each(|(field, _, _)| problems.add(&format!("{of}{field}"), words.clone()));
        }
        Ok(problems)
    }
}

impl Things {
    /// `form`: the first form.
    pub async fn named(call: &Call<TakeBack>, form: &Fields) -> Result<Self, StoreError> {
        let items = &call.sent.items;
        let ids: Vec<Uuid> = items.iter().map(|item| item.lent_id).collect();
        let mut conn = call.app.db.read().await?;
        let lines = loans::lines_among(&mut conn, &ids).await?;
        let packs = packs::of_lines(&mut conn, &ids).await?;
        let mut things = Vec::new();
        for item in items {
            let id = item.lent_id;
            let line = lines.iter().find(|line| line.out.lent_id == id);
            let pack = packs.iter().find(|pack| pack.line_id == id);
            let pack = pack.map(|of_line| of_line.pack.clone());
            let is_dangerous = match &pack {
                Some(pack) if pack.is_quarantined() => is_danger_seen(&mut conn, pack.id).await?,
                _ => false,
            };
            things.push(Thing {
                item: item.clone(),
                line: line.cloned(),
                pack,
                answer: Answer::of(form, &format!("-{id}"), false),
                is_dangerous,
            });
        }
        Ok(Self(things))
    }

    pub async fn problems(&self, call: &Call<TakeBack>) -> Result<Problems, StoreError> {
        let mut conn = call.app.db.read().await?;
        let mut problems = Problems::default();
        let mut named: Vec<Uuid> = Vec::new();
        for (at, thing) in self.0.iter().enumerate() {
            let of = format!("items[{at}].");
            if named.contains(&thing.item.lent_id) {
                problems.add(&format!("{of}lent_id"), "It is named twice.");
            }
            named.push(thing.item.lent_id);
            problems.extend(thing.problems(&mut conn, &of, &call.who).await?);
        }
        Ok(problems)
    }

    /// Of a request that is refused: stores all danger in it, as the forms would. Gives back the numbers of those packs.
    pub async fn keep_danger(&self, call: &Call<TakeBack>) -> Result<Vec<String>, PageError> {
        let is_seen = |thing: &&Thing| thing.pack.is_some() && thing.answer.looked.is_danger();
        let seen: Vec<&Thing> = self.0.iter().filter(is_seen).collect();
        let items = seen.iter().map(|thing| TakenBack {
            lent_id: thing.item.lent_id,
            look: thing.item.look.clone(),
            condition: thing.item.condition.clone(),
            ..TakenBack::default()
        });
        let mut form = Form::default();
        let only_danger = TakeBack {
            items: items.collect(),
        };
        if !seen.is_empty() && only_danger.fill(&mut form, &call.who).is_ok() {
            let fields = form.fields(None, "");
            take_back_items::look(State(call.app.clone()), call.who.clone(), fields).await?;
        }
        let mut numbers = numbers_of(&seen);
        for number in self.keep_dangerous_volts(call).await? {
            if !numbers.contains(&number) {
                numbers.push(number);
            }
        }
        Ok(numbers)
    }

    /// The same for what was read alone.
    pub async fn keep_dangerous_volts(
        &self,
        call: &Call<TakeBack>,
    ) -> Result<Vec<String>, PageError> {
        let is_so = |thing: &&Thing| thing.is_dangerous_by_volts(&call.who);
        let mut dangerous: Vec<&Thing> = Vec::new();
        for thing in self.0.iter().filter(is_so) {
            // Of a line that comes twice the form has room for one reading.
            if dangerous
                .iter()
                .all(|other| other.item.lent_id != thing.item.lent_id)
            {
                dangerous.push(thing);
            }
        }
        if dangerous.is_empty() {
            return Ok(Vec::new());
        }
        let items: Vec<&TakenBack> = dangerous.iter().map(|thing| &thing.item).collect();
        let fields = Fields::new(volts_form(&items, Vec::new()));
        take_back_volts::take_back(State(call.app.clone()), call.who.clone(), fields).await?;
        Ok(numbers_of(&dangerous))
    }
}

/// Each once.
fn numbers_of(things: &[&Thing]) -> Vec<String> {
    let mut numbers: Vec<String> = Vec::new();
    for pack in things.iter().filter_map(|thing| thing.pack.as_ref()) {
        if !numbers.contains(&pack.number) {
            numbers.push(pack.number.clone());
        }
    }
    numbers
}
