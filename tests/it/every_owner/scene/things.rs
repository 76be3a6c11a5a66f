//! The things that are asked about: a pack on loan to the owner, a torn one, kit, a place, a person, a session. Each is
//! made by the program's own forms wherever there is one.

use super::{Line, OWNER, Scene, Thing};
use crate::support::*;
use sandbucket::ids;
use uuid::Uuid;

impl Scene<'_> {
    /// A pack with a photo that somebody else added.
    pub(super) async fn with_photo(&self) -> Thing {
        let id = self.pack().await;
        let dots = image::DynamicImage::new_rgb8(20, 10);
        let mut bytes = std::io::Cursor::new(Vec::new());
        dots.write_to(&mut bytes, image::ImageFormat::Png)
            .expect("a picture");
        let file = ("photo", "a.png", bytes.get_ref().as_slice());
        let address = format!("/packs/{id}/photos");
        self.avery.send_file(&address, &[], file).await.done();
        let photo = self.last("photo").await;
        Thing {
            id,
            photo,
            ..Thing::default()
        }
    }

    /// A poster that works; what of it is asked for.
    pub(super) async fn poster(&self, what: &str) -> String {
        let name = format!("Door {}", self.number());
        let made = self.avery.post("/posters", &[("name", &name)]).await;
        let id = made.done().rsplit('/').next().expect("its id").to_owned();
        if what == "id" {
            return id;
        }
        let sql = format!("SELECT {what} FROM poster WHERE name = '{name}'");
        self.club.find(&sql).await.remove(0)
    }

    /// An incident that is open.
    /// The owner's, to do after an incident.
    pub(super) async fn action(&self) -> String {
        let incident = self.incident().await;
        let fields = [
            ("what", "action_set"),
            ("action_what", "Tiles on the table"),
            ("owner", OWNER),
            ("due", "2026-11-27"),
            ("works_if", "no wood is left"),
            ("look_on", "2026-12-10"),
        ];
        let told = self.rosa.post(&format!("/book/{incident}"), &fields).await;
        told.done();
        let last = "SELECT CAST(MAX(seq) AS TEXT) FROM book_action";
        self.club.find(last).await.remove(0)
    }

    pub(super) async fn incident(&self) -> String {
        // The same words at the same time would be the same incident.
        let before = "SELECT CAST(COUNT(DISTINCT incident) AS TEXT) FROM book_entry";
        let words = format!("It smoked after {}.", self.club.find(before).await[0]);
        let fields = [
            ("kind", "smoke"),
            ("harm", "nobody"),
            ("harm_could", "nobody"),
            ("damage_was", "itself_only"),
            ("damage_could", "itself_only"),
            ("day", "2026-11-25"),
            ("time", "18:05"),
            ("place", "Hall"),
            ("doing", "in_use"),
            ("words", words.as_str()),
        ];
        let opened = self.rosa.post("/book/new", &fields).await;
        opened
            .done()
            .rsplit('/')
            .next()
            .expect("its name")
            .to_owned()
    }

    /// An incident with a document.
    pub(super) async fn filed(&self) -> Thing {
        let id = self.incident().await;
        let file = ("file", "a.txt", &b"what the landlord wrote"[..]);
        let fields = [("what", "file"), ("words", "a letter")];
        let address = format!("/book/{id}/files");
        self.rosa.send_file(&address, &fields, file).await.done();
        let photo = sandbucket::ids::digest_of(file.2);
        Thing {
            id,
            photo,
            ..Thing::default()
        }
    }

    /// The owner's report of a torn wrap, with a photo.
    pub(super) async fn report(&self) -> String {
        let pack = self.pack().await;
        let dots = image::DynamicImage::new_rgb8(20, 10);
        let mut bytes = std::io::Cursor::new(Vec::new());
        dots.write_to(&mut bytes, image::ImageFormat::Png)
            .expect("a picture");
        let file = ("photo", "a.png", bytes.get_ref().as_slice());
        let address = format!("/packs/{pack}/condition");
        let seen = [("seen", "wrap_torn")];
        self.browsers[1]
            .send_file(&address, &seen, file)
            .await
            .done();
        self.last("report").await
    }

    pub(super) async fn reported(&self) -> Thing {
        self.report().await;
        let latest = "SELECT token FROM report ORDER BY came_ms DESC, id DESC LIMIT 1";
        Thing {
            token: self.club.find(latest).await.remove(0),
            ..Thing::default()
        }
    }

    /// The owner was mailed whether an address is theirs.
    pub(super) async fn asked_to_confirm(&self) -> Thing {
        let thing = self.mailed().await;
        let owner = self.club.literal(self.owner_id());
        let mail = self.club.literal(thing.id.parse().expect("an id"));
        let now = self.club.app.clock.now().ms();
        for sql in [
            format!("UPDATE mail SET is_to_confirm = TRUE, made_ms = {now} WHERE id = {mail}"),
            format!("DELETE FROM reach WHERE person_id = {owner}"),
            format!(
                "INSERT INTO reach (person_id, address, dead_words, unconfirmed_ms) VALUES ({owner}, 'o@packs', '', {now})"
            ),
        ] {
            self.club.behind_the_back(&sql).await.expect("it is asked");
        }
        thing
    }

    /// The owner was mailed that a loan is due soon; they had chosen nothing.
    pub(super) async fn mailed(&self) -> Thing {
        let (id, token, number) = (ids::new_id(), ids::new_token(), self.number());
        let (owner, mail) = (self.club.literal(self.owner_id()), self.club.literal(id));
        let reminder = self.club.literal(ids::new_id());
        let day = format!("{:04}-01-01", 2000 + number % 8_000);
        let hash = ids::digest(&token);
        for sql in [
            "DELETE FROM reminder_choice".to_owned(),
            format!(
                "INSERT INTO reminder (id, person_id, kind, reason, thing, due_on, told_on, is_must, by_mail, by_push, title, why, next_words, href, decided_ms) \
                 VALUES ({reminder}, {owner}, 'loan_due_soon', 'loan_due_soon', 'loan:{number}', '{day}', '{day}', FALSE, TRUE, FALSE, 'P-001: due back', 'why', 'next', '/mine', 1)"
            ),
            format!(
                "INSERT INTO mail (id, person_id, on_day, channel, message_id, state, address, made_ms, next_ms, tries, answer) \
                 VALUES ({mail}, {owner}, '{day}', 'mail', '{id}@packs', 'sent', 'o@packs', 1, 1, 1, '')"
            ),
            format!(
                "INSERT INTO mail_token (token_hash, mail_id, made_ms) VALUES ('{hash}', {mail}, 1)"
            ),
        ] {
            self.club.behind_the_back(&sql).await.expect("a mail");
        }
        Thing {
            id: id.to_string(),
            token,
            ..Thing::default()
        }
    }

    /// The owner's phone is reminded.
    pub(super) async fn phone(&self) -> String {
        let (phone, number) = (APhone::new(7), self.number());
        let (endpoint, p256dh, auth) = (
            format!("https://push.example/send/{number}"),
            phone.p256dh(),
            phone.auth(),
        );
        let fields = [
            ("endpoint", endpoint.as_str()),
            ("p256dh", &p256dh),
            ("auth", &auth),
        ];
        self.browsers[1].post("/me/phones", &fields).await.done();
        self.last("phone").await
    }

    /// A pack that was just read, and a charger that is free.
    pub(super) async fn to_charge(&self) -> Thing {
        self.club.chargers(1).await;
        let numbers =
            "SELECT number FROM kit WHERE kind = 'charger' ORDER BY number_key DESC LIMIT 1";
        Thing {
            charger: self.club.find(numbers).await.remove(0),
            id: self.pack().await,
            new: format!("new-{}", self.number()),
            ..Thing::default()
        }
    }

    /// The quartermaster's only charge log on its way, ready to be stored.
    pub(super) async fn log_on_its_way(&self) -> String {
        let kept = "DELETE FROM charge_log_waiting";
        self.club.behind_the_back(kept).await.expect("no other one");
        let pack = self.pack().await;
        let at = self
            .club
            .charge_log_on_its_way(&self.browsers[3], &pack)
            .await;
        at.rsplit('/').next().expect("its id").to_owned()
    }

    /// A charge log that somebody else brought in.
    pub(super) async fn charge_log(&self) -> String {
        let pack = self.pack().await;
        let at = self.club.charge_log_of(&self.avery, &pack).await;
        at.rsplit('/').next().expect("its id").to_owned()
    }

    /// A charge that runs, of a new pack, each on an output of its own.
    pub(super) async fn charging(&self) -> String {
        let (pack, kit) = (self.pack().await, self.lent_kit().await);
        let kit: Uuid = kit.parse().expect("an id");
        let (charge, output) = (ids::new_id(), self.club.ids("charge").await.len());
        let (kit, charge_id) = (self.club.literal(kit), self.club.literal(charge));
        let (by, now) = (self.club.literal(self.avery.id()), self.club.now().ms());
        let sql = format!(
            "INSERT INTO charge (id, pack_id, charger_id, output, mode, is_balanced, purpose, current_ma, target_mv, least_minutes, \
             most_minutes, least_mah, most_mah, cutoff_mah, cutoff_minutes, drawn_mw, started_ms, started_by, watched_by) \
             SELECT {charge_id}, id, {kit}, {output}, 'balance', TRUE, 'no_hurry', 400, 12600, 30, 45, 100, 200, 240, 55, 6000, {now}, {by}, {by} \
             FROM pack WHERE number = '{pack}'"
        );
        self.club.behind_the_back(&sql).await.expect("a charge");
        charge.to_string()
    }

    /// A pack with a label; what of the label is asked for.
    pub(super) async fn labelled(&self, what: &str) -> String {
        let pack = self.pack().await;
        let made = [("what", "make")];
        self.avery
            .post(&format!("/packs/{pack}/label"), &made)
            .await
            .done();
        let sql = format!(
            "SELECT {what} FROM label WHERE pack_id = (SELECT id FROM pack WHERE number = '{pack}') AND ended_ms IS NULL"
        );
        self.club.find(&sql).await.remove(0)
    }

    /// The quartermaster's only sheet, ready for the step that `path` is.
    pub(super) async fn sheet(&self, path: &str) -> String {
        let kept = "DELETE FROM sheet";
        self.club.behind_the_back(kept).await.expect("no other one");
        let is_ready = !path.ends_with("/questions");
        let text = "Number,Design,Chemistry,Cells,Capacity,Connector,Balance,Bought\n,Sheet 4S,LiPo,4,450,XT30,JST-XH,03/04/2026";
        let quartermaster = &self.browsers[3];
        let id = self
            .club
            .sheet_on_its_way(quartermaster, text, is_ready)
            .await;
        if path.ends_with("/done") {
            self.club
                .behind_the_back("UPDATE sheet SET done = '{}'")
                .await
                .expect("done");
        }
        id
    }

    pub(super) async fn pack(&self) -> String {
        self.club.fit_packs(1).await;
        let numbers = "SELECT number FROM pack ORDER BY number_key DESC LIMIT 1";
        self.club.find(numbers).await.remove(0)
    }

    /// A pack handed to the owner; `what` is that column of its line.
    pub(super) async fn lent(&self, what: &str) -> String {
        let number = self.pack().await;
        self.hand_out(&number).await;
        self.line_of("pack", &number, what).await
    }

    pub(super) async fn hand_out(&self, number: &str) {
        let owner = self.browsers[1].id().to_string();
        let fields = [("person", owner.as_str()), ("items", number)];
        self.rosa.post("/hand-out", &fields).await.done();
    }

    /// `what` of the line of the pack or kit of this number, written as addresses write it.
    pub(super) async fn line_of(&self, kind: &str, number: &str, what: &str) -> String {
        let text = match (self.club.backend, what.starts_with('(')) {
            (_, true) => what.to_owned(),
            (Backend::Sqlite, false) => format!("HEX({what})"),
            (Backend::Postgres, false) => format!("CAST({what} AS TEXT)"),
        };
        let sql = format!(
            "SELECT {text} FROM lent WHERE {kind}_id = (SELECT id FROM {kind} WHERE number = '{number}') ORDER BY opened_ms DESC"
        );
        let found = self.club.find(&sql).await.remove(0);
        let id: Result<uuid::Uuid, _> = found.parse();
        id.map_or(found, |id| id.to_string())
    }

    pub(super) async fn taken_back(&self) -> String {
        let lent = self.lent("id").await;
        let volts = format!("volts_line-{lent}");
        let fields = [
            ("volts", lent.as_str()),
            ("lent", lent.as_str()),
            ("rested", "rested_an_hour"),
            (volts.as_str(), "3.82 3.81 3.82"),
        ];
        self.rosa.post("/take-back/volts", &fields).await.done();
        lent
    }

    /// A pack on which Rosa saw something, and what stands against it.
    pub(super) async fn found(&self, seen: &str) -> Thing {
        let number = self.pack().await;
        let path = format!("/packs/{number}/condition");
        self.rosa.post(&path, &[("seen", seen)]).await.done();
        Thing {
            finding: self.last("finding").await,
            id: number,
            ..Thing::default()
        }
    }

    pub(super) async fn dried(&self) -> Thing {
        let thing = self.found("wet").await;
        self.club.later_by_minutes(1);
        let fields = [
            ("volts_line", "3.82 3.81 3.82"),
            ("rested", "rested_an_hour"),
        ];
        let path = format!("/packs/{}/volts", thing.id);
        self.rosa.post(&path, &fields).await.done();
        self.club.watches_are_over().await;
        thing
    }

    /// A pack that smokes no more: it is watched.
    pub(super) async fn watched(&self) -> String {
        self.found("wet").await.id
    }

    /// A retired pack with no danger on record.
    pub(super) async fn retired(&self) -> String {
        let pack = self.pack().await;
        let fields = [("way", "retire"), ("reason", "old")];
        let path = format!("/packs/{pack}/way-out");
        self.rosa.post(&path, &fields).await.done();
        pack
    }

    /// One that was disposed of, with a photo of the receipt.
    pub(super) async fn disposed(&self) -> String {
        let pack = self.retired().await;
        let dots = image::DynamicImage::new_rgb8(20, 10);
        let mut bytes = std::io::Cursor::new(Vec::new());
        dots.write_to(&mut bytes, image::ImageFormat::Png)
            .expect("a picture");
        let file = ("photo", "a.png", bytes.get_ref().as_slice());
        let told = [
            ("harmless", "packed"),
            ("taped", "yes"),
            ("handed_in", "the town"),
            ("disposed_on", "2026-11-25"),
            ("for_good", "yes"),
        ];
        let path = format!("/packs/{pack}/disposal");
        self.rosa.send_file(&path, &told, file).await.done();
        pack
    }

    pub(super) async fn adapters(&self) -> String {
        let fields = [
            ("kind", "adapter"),
            ("from", "xt60"),
            ("to", "xt30"),
            ("rated_ma", "12"),
            ("owned_count", "8"),
        ];
        self.rosa.post("/kit/new", &fields).await.done();
        self.last("kit").await
    }

    pub(super) async fn lent_kit(&self) -> String {
        let id = self.adapters().await;
        let numbers =
            "SELECT number FROM kit WHERE kind = 'adapter' ORDER BY number_key DESC LIMIT 1";
        let number = self.club.find(numbers).await.remove(0);
        self.hand_out(&number).await;
        id
    }

    pub(super) async fn kit_set_aside(&self) -> String {
        let id = self.adapters().await;
        let path = format!("/kit/{id}/set-aside");
        self.rosa
            .post(&path, &[("set_aside", "a bent pin")])
            .await
            .done();
        id
    }

    pub(super) async fn kit_unchecked(&self) -> String {
        let id = self.adapters().await;
        let came_back = "UPDATE kit SET unchecked_count = 2 WHERE id = ";
        let came_back = format!(
            "{came_back}{}",
            self.club.literal(id.parse().expect("an id"))
        );
        self.club
            .behind_the_back(&came_back)
            .await
            .expect("unchecked");
        id
    }

    pub(super) async fn place(&self) -> String {
        let name = format!("Shelf {}", self.number());
        let fields = [
            ("name", name.as_str()),
            ("kind", "box"),
            ("room", "Hall"),
            ("energy_limit", ""),
            ("warmth_celsius", ""),
            ("notes", ""),
        ];
        self.rosa.post("/places/new", &fields).await.done();
        self.last("place").await
    }

    /// An open storage round of one pack, and another pack that could come back too.
    pub(super) async fn round(&self) -> Thing {
        let pack = self.pack().await;
        self.club.later_by_minutes(1);
        let begun = self
            .rosa
            .post("/storage-rounds/new", &[("packs", pack.as_str())])
            .await;
        let at = begun.done().split('?').next().unwrap_or_default();
        Thing {
            id: at.rsplit('/').next().expect("its id").to_owned(),
            finding: pack,
            charger: self.pack().await,
            ..Thing::default()
        }
    }

    /// A pack that Otto took home from a round, and a place where it may lie.
    pub(super) async fn at_home(&self) -> Thing {
        let round = self.round().await;
        let person = self.plainly("{other}");
        let home = [
            ("home_pack", round.finding.as_str()),
            ("person", &person),
            ("by", "2026-11-28"),
        ];
        let path = format!("/storage-rounds/{}/home", round.id);
        self.rosa.post(&path, &home).await.done();
        Thing {
            id: round.finding,
            finding: self.place().await,
            ..Thing::default()
        }
    }

    /// An event from the first of these days to the last, with a pack on its list.
    pub(super) async fn event(&self, days: [&str; 2]) -> String {
        self.pack().await;
        let name = format!("Bouts {}", self.number());
        let fields = [
            ("name", name.as_str()),
            ("first_on", days[0]),
            ("last_on", days[1]),
            ("packs", "1"),
        ];
        let made = self.rosa.post("/events/new", &fields).await;
        let at = made.done().split('?').next().unwrap_or_default();
        at.rsplit('/').next().expect("its id").to_owned()
    }

    pub(super) async fn closed_place(&self) -> String {
        let id = self.place().await;
        let path = format!("/places/{id}/close");
        self.rosa.post(&path, &[]).await.done();
        id
    }

    /// A family of the club's own, by its code.
    pub(super) async fn connector(&self) -> String {
        let code = format!("plug-{}", self.number());
        let fields = [
            ("code", code.as_str()),
            ("name", code.as_str()),
            ("purpose", "input"),
            ("pins", "2"),
        ];
        self.rosa.post("/connectors/new", &fields).await.done();
        code
    }

    pub(super) async fn person(&self, line: &Line) -> String {
        let name = format!("Nell {}", self.number());
        let person = if line.route.contains("(an organiser)") {
            let organiser = sandbucket::club::people::Roles {
                is_organiser: true,
                ..Default::default()
            };
            self.club.person(&name, organiser).await
        } else {
            self.club.member(&name).await
        };
        let id = person.id().to_string();
        if line.route.contains("/reactivate") {
            let path = format!("/people/{id}/deactivate");
            self.rosa.post(&path, &[]).await.done();
        }
        id
    }

    /// One more browser of the owner's.
    pub(super) async fn session(&self) -> String {
        self.club.signed_in(self.browsers[1].id()).await;
        self.last("session").await
    }

    /// One of the owner's, for a program.
    pub(super) async fn token(&self) -> String {
        let secret = ids::new_token();
        let fields = [
            ("name", "shelf display"),
            ("may", "look"),
            ("days", "7"),
            ("secret", secret.as_str()),
        ];
        let made = self.browsers[1].post("/me/tokens", &fields).await;
        assert_eq!(made.status, 200, "{}", made.text);
        self.last("token").await
    }

    /// The secret of the owner's calendar.
    pub(super) async fn calendar(&self) -> Thing {
        let secret = ids::new_token();
        let fields = [("secret", secret.as_str())];
        let made = self.browsers[1].post("/me/calendar", &fields).await;
        assert_eq!(made.status, 200, "{}", made.text);
        Thing {
            token: secret,
            ..Thing::default()
        }
    }

    /// A link of this kind that somebody may use up.
    pub(super) async fn link(&self, kind: &str) -> Thing {
        let kind = if kind == "join" { "invite" } else { kind };
        let name = format!("Ivo {}", self.number());
        let person = self.club.member(&name).await;
        let token = ids::new_token();
        let sql = format!(
            "INSERT INTO link (id, token_hash, kind, person_id, made_by, made_ms, ends_ms) VALUES ({}, '{}', '{kind}', {}, {}, 1, {})",
            self.club.literal(ids::new_id()),
            ids::digest(&token),
            self.club.literal(person.id()),
            self.club.literal(self.rosa.id()),
            self.club.now().plus_days(1).ms()
        );
        self.club.behind_the_back(&sql).await.expect("a link");
        Thing {
            token,
            new: format!("new-{}", self.number()),
            ..Thing::default()
        }
    }
}
