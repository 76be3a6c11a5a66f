//! People and what their roles let them do. A person may hold several roles; a guest or junior holds none to sign in with.

use uuid::Uuid;

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Role {
    /// Borrows, reads packs, reports.
    Member,
    /// Hands out, takes back, keeps the pool.
    Quartermaster,
    /// Sees everything, keeps incidents and audits, does not lend.
    Organiser,
}

impl Role {
    pub const ALL: [Self; 3] = [Self::Member, Self::Quartermaster, Self::Organiser];

    pub const fn code(self) -> &'static str {
        match self {
            Self::Member => "member",
            Self::Quartermaster => "quartermaster",
            Self::Organiser => "organiser",
        }
    }

    pub const fn label(self) -> &'static str {
        match self {
            Self::Member => "Member",
            Self::Quartermaster => "Quartermaster",
            Self::Organiser => "Organiser",
        }
    }

    pub const fn does(self) -> &'static str {
        match self {
            Self::Member => "borrows, logs volts, reports",
            Self::Quartermaster => "hands out, takes back, keeps packs, kit and people",
            Self::Organiser => "sees everything, keeps incidents and audits, does not lend",
        }
    }
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Roles {
    pub is_member: bool,
    pub is_quartermaster: bool,
    pub is_organiser: bool,
}

impl Roles {
    pub const fn has(self, role: Role) -> bool {
        match role {
            Role::Member => self.is_member,
            Role::Quartermaster => self.is_quartermaster,
            Role::Organiser => self.is_organiser,
        }
    }

    pub fn has_any(self, roles: &[Role]) -> bool {
        roles.iter().any(|role| self.has(*role))
    }

    pub fn is_none(self) -> bool {
        self == Self::default()
    }

    /// `Quartermaster, organiser`; a person without roles is a guest.
    pub fn words(self) -> String {
        let held: Vec<&str> = Role::ALL
            .into_iter()
            .filter(|role| self.has(*role))
            .map(Role::code)
            .collect();
        let mut words = if held.is_empty() {
            "guest".to_owned()
        } else {
            held.join(", ")
        };
        words[..1].make_ascii_uppercase();
        words
    }

    /// Members and quartermasters borrow, and so do guests, for whom a member answers; an organiser alone does not.
    pub const fn may_borrow(self) -> bool {
        self.is_member || self.is_quartermaster || !self.is_organiser
    }

    /// Handles packs and reads their volts; an organiser alone looks on.
    pub const fn may_log_volts(self) -> bool {
        self.is_member || self.is_quartermaster
    }

    /// Names of people who hold a pack are for those who run the pool; a member sees only own loans.
    pub const fn may_see_holders(self) -> bool {
        self.is_quartermaster || self.is_organiser
    }

    /// Where a thing was bought, for how much, and what was noted of it is for those who run the pool: see [`NOTED`].
    pub const fn may_read_notes(self) -> bool {
        self.is_quartermaster || self.is_organiser
    }
}

/// The fields of packs and kit that [`Roles::may_read_notes`] is about. All else that is on record a member reads too.
pub const NOTED: [&str; 3] = ["supplier", "price", "notes"];

/// Who acts, as the rules need to know it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Actor {
    pub id: Uuid,
    pub roles: Roles,
}

impl Actor {
    /// Somebody who is not signed in, or who does not say who they are.
    pub const NOBODY: Self = Self {
        id: Uuid::nil(),
        roles: Roles {
            is_member: false,
            is_quartermaster: false,
            is_organiser: false,
        },
    };

    /// Their id; None for [`Self::NOBODY`].
    pub fn person(&self) -> Option<Uuid> {
        Some(self.id).filter(|id| !id.is_nil())
    }
}
