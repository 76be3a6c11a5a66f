//! The club, and whom the token stands for.

use super::operation::{Call, Nothing, Shown};
use super::trouble::Trouble;
use crate::club::people::Role;
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

#[derive(Serialize, ToSchema)]
pub struct You {
    pub id: Uuid,
    pub name: String,
    /// Any of member, quartermaster, organiser; those of now.
    pub roles: Vec<String>,
    pub club: Club,
}

#[derive(Serialize, ToSchema)]
pub struct Club {
    pub name: String,
    /// An IANA name: due days end at midnight there.
    pub time_zone: String,
    /// Sentences write numbers with a comma.
    pub uses_decimal_comma: bool,
    pub loan_days: i64,
    pub may_members_borrow: bool,
}

impl Shown for You {
    fn example() -> Self {
        Self {
            id: super::document::PERSON,
            name: "Ada".to_owned(),
            roles: vec!["member".to_owned()],
            club: Club {
                name: "Millrace Robotics Club".to_owned(),
                time_zone: "Europe/London".to_owned(),
                uses_decimal_comma: false,
                loan_days: 7,
                may_members_borrow: false,
            },
        }
    }
}

pub async fn you(call: Call<Nothing>) -> Result<You, Trouble> {
    let (me, club) = (call.who.me, call.who.club);
    let held = me.roles();
    let roles = Role::ALL.into_iter().filter(|role| held.has(*role));
    Ok(You {
        id: me.person_id,
        roles: roles.map(|role| role.code().to_owned()).collect(),
        name: me.name,
        club: Club {
            name: club.name,
            time_zone: club.time_zone,
            uses_decimal_comma: club.uses_decimal_comma,
            loan_days: club.loan_days,
            may_members_borrow: club.may_members_borrow,
        },
    })
}
