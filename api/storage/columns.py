"""What the tables are made of: their one collection, and the kinds of columns.

Times are text of one form and one offset (UTC), so that they sort as they are written. Hashes
and links are bytes.
"""

from sqlalchemy import BigInteger, Column, Integer, MetaData, Text
from sqlalchemy.types import TypeEngine

Kind = type[TypeEngine] | TypeEngine

metadata = MetaData(
    naming_convention={
        "pk": "pk_%(table_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "fk": "fk_%(table_name)s_%(referred_table_name)s",
    }
)

# A tablet counts to 2**53. SQLite's whole numbers have 64 bits under any name.
WHOLE = Integer().with_variant(BigInteger(), "postgresql")


def key(name: str, kind: Kind = Text) -> Column:
    """Return a column of the primary key."""
    return Column(name, kind, primary_key=True, nullable=False, autoincrement=False)


def must(name: str, kind: Kind = Text, **more: object) -> Column:
    """Return a column that always says something."""
    return Column(name, kind, nullable=False, **more)


def may(name: str, kind: Kind = Text) -> Column:
    """Return a column that may be empty."""
    return Column(name, kind, nullable=True)
