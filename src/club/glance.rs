//! The first, short answer about one thing that is looked at, and what it comes to together with what was ticked below
//! it. The list itself, and how grave each thing on it is, stands in `seen`.

use super::seen::{Crash, Seen};

/// What was ticked with what follows from it: whoever answers the crash question says that there was a crash, own words
/// are something else that was seen, and whoever ticks anything does not see nothing.
pub fn told(ticked: Vec<Seen>, crash: Option<Crash>, own_words: &str) -> Vec<Seen> {
    let mut told = ticked;
    let follows = [
        (crash.is_some(), Seen::InACrash),
        (!own_words.trim().is_empty(), Seen::SomethingElse),
    ];
    told.extend(
        follows
            .into_iter()
            .filter_map(|(is_so, seen)| is_so.then_some(seen)),
    );
    told.sort_unstable();
    told.dedup();
    if told.len() > 1 {
        told.retain(|each| *each != Seen::Nothing);
    }
    told
}

/// Of somebody's own words.
pub const MOST_LETTERS: usize = 500;

/// A browser counts the end of a line as one letter and sends it as two.
pub fn is_too_long(own_words: &str) -> bool {
    let as_counted = own_words.trim().replace("\r\n", "\n");
    as_counted.chars().count() > MOST_LETTERS
}

/// 'Something else' alone tells nothing without words; with anything beside it, that counts.
pub fn lacks_words(told: &[Seen], own_words: &str) -> bool {
    told == [Seen::SomethingElse] && own_words.trim().is_empty()
}

/// The first, short answer about one thing that is looked at.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Glance {
    #[default]
    Unsaid,
    Nothing,
    Wrong,
    /// It is not here yet.
    StillOut,
}

impl Glance {
    /// What a form offers.
    pub const OFFERED: [Self; 3] = [Self::Nothing, Self::Wrong, Self::StillOut];

    pub const fn code(self) -> &'static str {
        match self {
            Self::Unsaid => "",
            Self::Nothing => "nothing",
            Self::Wrong => "wrong",
            Self::StillOut => "still_out",
        }
    }

    pub fn from_code(code: &str) -> Self {
        let mut all = Self::OFFERED.into_iter();
        all.find(|each| each.code() == code).unwrap_or_default()
    }
}

/// The Display is the sentence beside the answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum GlanceRefusal {
    #[error("choose 'Nothing to see' or 'Something is wrong'.")]
    Unsaid,
    #[error("tick what is wrong, or say it in your own words.")]
    WrongUnsaid,
    #[error("say in your own words what you see.")]
    NoWords,
    #[error("say it in at most {MOST_LETTERS} letters.")]
    TooLong,
}

/// What is seen on a thing, by its short answer and what was ticked below it; None when it is still out. What was ticked
/// counts whatever the short answer was: danger on record outweighs a contradiction. `is_covered`: somebody said
/// 'nothing to see' of all things that say nothing themselves.
pub fn weigh(
    glance: Glance,
    told: Vec<Seen>,
    is_covered: bool,
) -> Result<Option<Vec<Seen>>, GlanceRefusal> {
    match glance {
        _ if !told.is_empty() => Ok(Some(told)),
        Glance::Nothing => Ok(Some(vec![Seen::Nothing])),
        Glance::StillOut => Ok(None),
        Glance::Wrong => Err(GlanceRefusal::WrongUnsaid),
        Glance::Unsaid if is_covered => Ok(Some(vec![Seen::Nothing])),
        Glance::Unsaid => Err(GlanceRefusal::Unsaid),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_ticked_counts_whatever_the_short_answer_was() {
        use Glance::*;
        let swollen = vec![Seen::Swollen];
        for glance in [Unsaid, Nothing, Wrong, StillOut] {
            assert_eq!(
                weigh(glance, swollen.clone(), true),
                Ok(Some(swollen.clone()))
            );
        }
        let nothing = Ok(Some(vec![Seen::Nothing]));
        assert_eq!(weigh(Nothing, vec![], false), nothing);
        assert_eq!(weigh(Unsaid, vec![], true), nothing);
        assert_eq!(weigh(StillOut, vec![], true), Ok(None));
        assert_eq!(weigh(Unsaid, vec![], false), Err(GlanceRefusal::Unsaid));
        assert_eq!(weigh(Wrong, vec![], true), Err(GlanceRefusal::WrongUnsaid));
    }

    #[test]
    fn something_else_alone_is_asked_for_words_and_danger_beside_it_counts_without() {
        assert!(lacks_words(
            &told(vec![Seen::SomethingElse], None, " "),
            " "
        ));
        assert!(!lacks_words(&told(vec![], None, "rattles"), "rattles"));
        let with_danger = told(vec![Seen::SomethingElse, Seen::Wet], None, "");
        assert!(!lacks_words(&with_danger, ""));
    }

    #[test]
    fn an_answered_crash_question_and_own_words_count_without_their_tick() {
        let hit = told(vec![], Some(Crash::HitOrBent), "");
        assert_eq!(hit, [Seen::InACrash]);
        assert_eq!(told(vec![], None, " rattles "), [Seen::SomethingElse]);
        let both = told(vec![Seen::Nothing, Seen::Wet], None, "");
        assert_eq!(both, [Seen::Wet]);
        assert_eq!(told(vec![Seen::Nothing], None, " "), [Seen::Nothing]);
        for each in Glance::OFFERED {
            assert_eq!(Glance::from_code(each.code()), each);
        }
    }
}
