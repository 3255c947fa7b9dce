"""`python -m data_demo --out DIR`: write the demo programme's files."""

from pathlib import Path

import click

from data_demo.chunks import AT_ONCE
from data_demo.generate import generate


@click.command()
@click.option(
    "--out", type=click.Path(path_type=Path), required=True, help="Folder for deliveries and truth."
)
@click.option("--sites", default=60, show_default=True)
@click.option("--days", default=549, show_default=True)
@click.option("--seed", default=1, show_default=True)
@click.option("--paper-only", is_flag=True, help="No logs, no outlines of blocks, few block meters.")
def write(out: Path, sites: int, days: int, seed: int, paper_only: bool) -> None:  # noqa: FBT001 - a flag
    """Write the demo programme's files."""
    with click.progressbar(length=sites, label="Sites", hidden=sites <= AT_ONCE) as bar:
        try:
            generate(
                out, sites=sites, days=days, seed=seed, paper_only=paper_only,
                progress=lambda done, _of: bar.update(done - bar.pos),
            )  # fmt: skip
        except FileExistsError as error:
            raise click.ClickException(str(error)) from error


if __name__ == "__main__":
    write()
