"""Draw the example's artwork anew: the same bytes every time.

    python jobs_example/make_artwork.py [FOLDER]

FOLDER is ``artwork`` beside this script when left out.
"""

import sys
from collections.abc import Callable
from pathlib import Path

from studio import cards
from studio.programme import programme

from inkaccord.files import write_if_changed

PIECES: dict[str, Callable[[], bytes]] = {
    "invitation.pdf": cards.invitation,
    "reply-card.pdf": cards.reply_card,
    "envelope.pdf": cards.envelope,
    "programme.pdf": programme,
    "lantern-tag.pdf": cards.lantern_tag,
    "draft-poster-strip.pdf": cards.draft_strip,
}


def main() -> None:
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent / "artwork"
    for name, draw in PIECES.items():
        changed = write_if_changed(folder / name, draw())
        print(f"{folder / name}: {'written' if changed else 'unchanged'}")


if __name__ == "__main__":
    main()
