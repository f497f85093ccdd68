"""Mends that name a command lead, on the page, to the page that does it."""

import pytest
from markupsafe import escape

from inkaccord.web.doors import _AT, with_doors

AT = "/order/abc"


@pytest.mark.parametrize(
    ("mend", "shown"),
    [
        (
            "'inkaccord shelf draw K7Q-XM3' draws it",
            '‘<a href="/order/abc/shelf/K7Q-XM3">Sheet K7Q-XM3</a>’ draws it',
        ),
        (
            "then answer 'inkaccord look K7Q-XM3' anew",
            'then answer ‘<a href="/order/abc/look/K7Q-XM3">Look at sheet K7Q-XM3</a>’ anew',
        ),
        (
            "record it with 'inkaccord record K7Q-XM3 FILE FILE …'",
            'record it with ‘<a href="/order/abc/read/K7Q-XM3">Readings of sheet K7Q-XM3</a>’',
        ),
        (
            "'inkaccord shelf verify' looks for <damage>",
            '‘<a href="/order/abc/copies">Copies of the shelf</a>’ looks for &lt;damage&gt;',
        ),
        (
            "'inkaccord book show 'Harbour green'' says what each says",
            '‘<a href="/order/abc/book">Book of colours</a>’ says what each says',
        ),
        (
            "where each is: inkaccord samples 'my order'; any sheet by its id",
            'where each is: ‘<a href="/order/abc">the order’s page</a>’; any sheet by its id',
        ),
        (
            "'inkaccord shelf list' shows all; for an order with a shelf of its own, add '--order "
            "DIR'",
            '‘<a href="/order/abc/shelf">Shelf</a>’ shows all',
        ),
        ("record it with 'inkaccord record K7Q-XM3, J7S-JQB …'", None),
        ("open it with 'inkaccord open --on-network'", None),
        ("write 'bleed_repair: mirror'", None),
    ],
)
def test_a_command_is_the_page_that_does_it(mend: str, shown: str | None) -> None:
    token = _AT.set(AT)
    try:
        assert str(with_doors(mend)) == (shown or str(escape(mend)))
    finally:
        _AT.reset(token)


def test_without_an_order_it_leads_to_the_studios_own_pages() -> None:
    assert 'href="/shelf"' in with_doors("see 'inkaccord shelf list'")
    assert "href" not in with_doors("'inkaccord run ORDER' plans the first sheets")
