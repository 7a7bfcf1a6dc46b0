"""The same question as `archive.py`, put to a validator of PDF/A and PDF/UA from PyPI (page-validation), which shares
nothing with it: an independent reading of both standards.

    python3 archive_again.py FILE.pdf ...      one line a failure; exit 1 when there is one
"""

import sys

import page


def main(names):
    failed = 0
    for name in names:
        for profile in ("3a", "ua1"):
            for failure in page.validate_pdf(name, profile=profile).failures:
                print(f"{name}: {failure.rule_id}: {failure.message}")
                failed += 1
    if not failed:
        print(f"{len(names)} files, no failure")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
