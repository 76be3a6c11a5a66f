//! Instants in the database: Unix milliseconds, UTC, as BIGINT on both.

use crate::club::calendar::Instant;

impl<D: sqlx::Database> sqlx::Type<D> for Instant
where
    i64: sqlx::Type<D>,
{
    fn type_info() -> D::TypeInfo {
        <i64 as sqlx::Type<D>>::type_info()
    }
    fn compatible(ty: &D::TypeInfo) -> bool {
        <i64 as sqlx::Type<D>>::compatible(ty)
    }
}

impl<'q, D: sqlx::Database> sqlx::Encode<'q, D> for Instant
where
    i64: sqlx::Encode<'q, D>,
{
    fn encode_by_ref(
        &self,
        buffer: &mut D::ArgumentBuffer,
    ) -> std::result::Result<sqlx::encode::IsNull, sqlx::error::BoxDynError> {
        self.0.encode_by_ref(buffer)
    }
}

impl<'r, D: sqlx::Database> sqlx::Decode<'r, D> for Instant
where
    i64: sqlx::Decode<'r, D>,
{
    fn decode(value: D::ValueRef<'r>) -> std::result::Result<Self, sqlx::error::BoxDynError> {
        i64::decode(value).map(Self)
    }
}
