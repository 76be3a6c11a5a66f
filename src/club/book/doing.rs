//! What was being done with the pack when it happened, as one is asked and as it is written.

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Doing {
    Charging,
    InUse,
    Lent,
    Stored,
    Carried,
    NotKnown,
}

impl Doing {
    pub const ALL: [Self; 6] = [
        Self::Charging,
        Self::InUse,
        Self::Lent,
        Self::Stored,
        Self::Carried,
        Self::NotKnown,
    ];

    pub const fn code(self) -> &'static str {
        match self {
            Self::Charging => "charging",
            Self::InUse => "in_use",
            Self::Lent => "lent",
            Self::Stored => "stored",
            Self::Carried => "carried",
            Self::NotKnown => "not_known",
        }
    }

    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|each| each.code() == code)
    }

    pub const fn label(self) -> &'static str {
        match self {
            Self::Charging => "It was charging",
            Self::InUse => "It was in use",
            Self::Lent => "It was lent",
            Self::Stored => "It lay in its place",
            Self::Carried => "It was carried or driven",
            Self::NotKnown => "I don't know",
        }
    }
}
