//! A take-back that was a mistake is undone within a day, from the page that tells of it and from the loan's own page, for
//! packs, numbered kit and a part of the adapters alike; after that, or when the thing is not here, its loan stays closed.

use crate::support::*;

struct Hall {
    quinn: Browser,
    ada: Browser,
    loan: String,
}

/// Ada has P-001 and three of five adapters.
async fn hall(club: &TestClub) -> Hall {
    club.fit_packs(2).await;
    club.adapters("A-01", 5).await;
    let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
    let loan = hand_out(&quinn, &ada, "1 A-01x3").await;
    Hall { quinn, ada, loan }
}

/// The loan's address.
async fn hand_out(quinn: &Browser, to: &Browser, items: &str) -> String {
    let page = quinn.get("/hand-out").await;
    let to = to.id().to_string();
    let fields = [("person", to.as_str()), ("items", items)];
    let answer = quinn.submit(&page, "main form", &fields).await;
    answer.done().replace("?new=1", "")
}

/// The line that is out of packs (`pack_id`) or of kit (`kit_id`).
async fn line_out(club: &TestClub, column: &str) -> String {
    let those = format!("lent WHERE {column} IS NOT NULL AND closed_ms IS NULL");
    club.ids(&those).await[0].to_string()
}

impl Hall {
    /// What happened, as the page says it, when the thing of this line came back with nothing to see.
    async fn back(&self, line: &str, more: &[(&str, &str)]) -> Answer {
        let look = format!("look-{line}");
        let key = sandbucket::ids::new_token();
        let mut fields = vec![
            ("key", key.as_str()),
            ("shown", line),
            (look.as_str(), "nothing"),
        ];
        fields.extend(more);
        let answer = self.quinn.post("/take-back/items", &fields).await;
        let page = self.quinn.get(answer.done()).await;
        if page.select("form[action='/take-back/volts']").is_empty() {
            return page;
        }
        let name = format!("volts_line-{line}");
        let volts = [
            ("rested", "rested_an_hour"),
            (name.as_str(), "3.82 3.81 3.82"),
        ];
        let answer = self
            .quinn
            .submit(&page, "form[action='/take-back/volts']", &volts)
            .await;
        self.quinn.get(answer.done()).await
    }

    async fn lines(&self) -> Vec<String> {
        let page = self.quinn.get(&self.loan).await;
        page.texts(".do li span")
    }

    async fn closed(&self) -> Vec<String> {
        self.quinn.get(&self.loan).await.texts(".told li b")
    }
}

on_both! {
    async fn a_pack_taken_back_by_mistake_is_on_its_loan_again_and_the_log_tells_both(club: TestClub) {
        let hall = hall(&club).await;
        let line = line_out(&club, "pack_id").await;
        let told = hall.back(&line, &[]).await;
        assert!(told.one("[role=status]").starts_with("1 of 4 in. 3 still out."), "{}", told.one("[role=status]"));
        let answer = hall.quinn.submit(&told, "form[action$='/reopen']", &[]).await;
        assert!(answer.done().starts_with(&hall.loan));
        assert!(hall.quinn.get(answer.done()).await.one("[role=status]").contains("undone"));
        assert_eq!(hall.lines().await, ["P-001", "A-01 × 3"]);
        let verbs = club.find("SELECT verb FROM activity WHERE subject = 'pack' ORDER BY seq DESC LIMIT 2").await;
        assert_eq!(verbs, ["take-back undone", "taken back"]);
    }

    async fn a_part_of_the_adapters_comes_back_and_that_part_alone_is_undone(club: TestClub) {
        let hall = hall(&club).await;
        let line = line_out(&club, "kit_id").await;
        let counted = format!("counted-{line}");
        let told = hall.back(&line, &[(&counted, "2")]).await;
        assert!(told.one("[role=status]").starts_with("2 of 4 in. 2 still out."));
        assert_eq!(told.texts("section h2"), ["A-01 × 2"]);
        assert_eq!(hall.lines().await, ["P-001", "A-01 × 1"]);
        assert_eq!(hall.closed().await, ["A-01 × 2"]);
        let page = hall.quinn.get(&hall.loan).await;
        hall.quinn.submit(&page, "form[action$='/reopen']", &[]).await.done();
        assert_eq!(hall.lines().await, ["P-001", "A-01 × 1", "A-01 × 2"]);
        assert!(hall.closed().await.is_empty());
        let verbs = club.find("SELECT verb FROM activity WHERE subject = 'kit' ORDER BY seq DESC LIMIT 2").await;
        assert_eq!(verbs, ["take-back undone", "taken back"]);
    }

    async fn adapters_that_went_out_again_or_were_counted_away_stay_back(club: TestClub) {
        let hall = hall(&club).await;
        let line = line_out(&club, "kit_id").await;
        let told = hall.back(&line, &[]).await;
        let bea = club.borrower("Bea").await;
        hand_out(&hall.quinn, &bea, "A-01x3").await;
        let refused = hall.quinn.submit(&told, "form[action$='/reopen']", &[]).await;
        assert!(refused.one("main").contains("It went out again or left the pool since"), "{}", refused.one("main"));
        assert_eq!(hall.lines().await, ["P-001"]);
    }

    async fn after_a_day_and_for_a_member_there_is_nothing_to_undo(club: TestClub) {
        let hall = hall(&club).await;
        let line = line_out(&club, "kit_id").await;
        let told = hall.back(&line, &[]).await;
        let undo = "form[action$='/reopen']";
        assert_eq!(hall.quinn.get(&hall.loan).await.select(undo).len(), 1);
        assert!(hall.ada.get(&hall.loan).await.select(undo).is_empty(), "it is not hers to undo");
        club.later_by_minutes(24 * 60 + 1);
        assert!(hall.quinn.get(&hall.loan).await.select(undo).is_empty());
        let refused = hall.quinn.submit(&told, undo, &[]).await;
        assert!(refused.one("main").contains("More than a day has passed"));
    }

    async fn nothing_is_put_on_a_loan_of_somebody_who_left_meanwhile(club: TestClub) {
        let hall = hall(&club).await;
        let adapters = line_out(&club, "kit_id").await;
        hall.back(&adapters, &[]).await;
        let pack = line_out(&club, "pack_id").await;
        let told = hall.back(&pack, &[]).await;
        let ada = hall.ada.id();
        let form = [("key", "leave-1")];
        hall.quinn.post(&format!("/people/{ada}/deactivate"), &form).await.done();
        let refused = hall.quinn.submit(&told, "form[action$='/reopen']", &[]).await;
        assert!(refused.one("main").contains("not active in the club any more"), "{}", refused.one("main"));
        assert!(hall.lines().await.is_empty());
    }

    async fn what_was_lost_on_a_loan_is_not_told_as_in(club: TestClub) {
        let hall = hall(&club).await;
        let adapters = line_out(&club, "kit_id").await;
        let fields = [("key", "lost-1"), ("reason", "fell into the race")];
        hall.quinn.post(&format!("/lent/{adapters}/lost"), &fields).await.done();
        let pack = line_out(&club, "pack_id").await;
        let told = hall.back(&pack, &[]).await;
        assert_eq!(told.one("[role=status]"), "1 of 4 in. 3 lost.");
        assert_eq!(hall.closed().await, ["P-001", "A-01 × 3"]);
    }

    async fn kit_a_member_brought_home_alone_waits_until_it_is_looked_over(club: TestClub) {
        let hall = hall(&club).await;
        let adapters = line_out(&club, "kit_id").await;
        let page = hall.ada.get(&format!("/mine/{adapters}/bring-back")).await;
        let told = hall.ada.submit(&page, "main form", &[]).await;
        assert!(hall.ada.get(told.done()).await.text.contains("once somebody at the table looked at it"));
        let kit = format!("/kit/{}", club.ids("kit").await[0]);
        let page = hall.quinn.get(&kit).await;
        assert!(page.text.contains("came back unchecked"), "{}", page.text);
        let refused = hall.quinn.post("/hand-out", &[("person", &hall.ada.id().to_string()), ("items", "A-01x3")]).await;
        assert!(refused.text.contains("3 came back unchecked"), "{} {}", refused.status, refused.text);
        assert!(hall.quinn.submit(&page, "form[action$='/looked-over']", &[("wrong", "bent"), ("wrong_count", "4")]).await.is_refused());
        hall.quinn.submit(&page, "form[action$='/looked-over']", &[("wrong", "bent"), ("wrong_count", "1")]).await.done();
        let told = hall.quinn.get(&kit).await;
        assert!(told.one(".verdict").contains("1 set aside") && told.select("form[action$='/looked-over']").is_empty());
        assert!(hall.quinn.post(&format!("{kit}/looked-over"), &[]).await.is_refused());
    }

    async fn undoing_what_a_member_brought_home_alone_puts_it_on_the_loan_again_and_nothing_waits(club: TestClub) {
        let hall = hall(&club).await;
        let adapters = line_out(&club, "kit_id").await;
        let page = hall.ada.get(&format!("/mine/{adapters}/bring-back")).await;
        hall.ada.submit(&page, "main form", &[]).await.done();
        let page = hall.quinn.get(&hall.loan).await;
        hall.quinn.submit(&page, "form[action$='/reopen']", &[]).await.done();
        assert_eq!(club.find("SELECT CAST(unchecked_count AS TEXT) FROM kit").await, ["0"]);
        assert_eq!(line_out(&club, "kit_id").await, adapters);
    }

    async fn undoing_one_persons_bringing_home_leaves_what_another_brought(club: TestClub) {
        let hall = hall(&club).await;
        let hers = line_out(&club, "kit_id").await;
        let ben = club.borrower("Ben").await;
        hand_out(&hall.quinn, &ben, "A-01x2").await;
        let page = hall.ada.get(&format!("/mine/{hers}/bring-back")).await;
        hall.ada.submit(&page, "main form", &[]).await.done();
        let kit = format!("/kit/{}", club.ids("kit").await[0]);
        let page = hall.quinn.get(&kit).await;
        let over = "form[action$='/looked-over']";
        let his = line_out(&club, "kit_id").await;
        let home = ben.get(&format!("/mine/{his}/bring-back")).await;
        ben.submit(&home, "main form", &[]).await.done();
        let late = hall.quinn.submit(&page, over, &[]).await;
        assert!(late.problems()[0].starts_with("Meanwhile more came back"), "nobody answers for what they did not see");
        let page = hall.quinn.get(&kit).await;
        hall.quinn.submit(&page, over, &[("key", "over")]).await.done();
        hand_out(&hall.quinn, &ben, "A-01x2").await;
        let his = line_out(&club, "kit_id").await;
        let home = ben.get(&format!("/mine/{his}/bring-back")).await;
        ben.submit(&home, "main form", &[("key", "home")]).await.done();
        hall.quinn.post(&format!("/lent/{hers}/reopen"), &[("key", "undo-hers")]).await.done();
        assert_eq!(club.find("SELECT CAST(unchecked_count AS TEXT) FROM kit").await, ["2"], "Ben's two still wait");
    }

    async fn what_came_back_within_a_day_is_found_with_its_loan(club: TestClub) {
        let hall = hall(&club).await;
        let line = line_out(&club, "pack_id").await;
        hall.back(&line, &[]).await;
        let (told, asked) = club.queries_of(hall.quinn.get("/loans")).await;
        assert!(asked <= 3, "{asked} statements");
        let there: Vec<String> = told.select(".told a").iter().map(|link| link.attribute("href").to_owned()).collect();
        assert_eq!(there, std::slice::from_ref(&hall.loan));
        club.later_by_minutes(24 * 60 + 1);
        let later = club.quartermaster().await;
        assert!(later.get("/loans").await.select(".told a").is_empty());
    }

    async fn kit_a_member_brought_home_alone_is_in_the_log(club: TestClub) {
        let hall = hall(&club).await;
        let adapters = line_out(&club, "kit_id").await;
        let page = hall.ada.get(&format!("/mine/{adapters}/bring-back")).await;
        hall.ada.submit(&page, "main form", &[("kit_words", "a bent pin")]).await.done();
        assert_eq!(club.find("SELECT set_aside_words FROM kit").await, ["a bent pin"]);
        let verbs = club.find("SELECT verb FROM activity WHERE subject = 'kit' ORDER BY seq DESC LIMIT 1").await;
        assert_eq!(verbs, ["brought back, unchecked"]);
    }
}
