"""Who orders: whom a vendor asks."""

from typing import Annotated

from pydantic import Field

from inkaccord.models import Frozen


class Contact(Frozen):
    """Who orders, and is asked about it."""

    name: Annotated[str, Field(description="a person, a studio, or both", min_length=1)]
    telephone: str = ""
    email: str = ""
