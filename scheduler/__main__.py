"""``python -m scheduler`` is ``thenwait``."""

from scheduler.cli import main

if __name__ == "__main__":
    main()
