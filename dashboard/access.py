"""Who looks: every query takes the viewer's scope.

Without a provider of identities there is one local user, on the loopback address only, who sees
every site.
"""

from dataclasses import dataclass


@dataclass(frozen=True)
class Viewer:
    """A person at the dashboard; `sites` None: all of them."""

    name: str
    sites: tuple[str, ...] | None = None

    @property
    def loads(self) -> bool:
        """Whether they may take files in: a file may speak of any site."""
        return self.sites is None


def viewer() -> Viewer:
    """Return the person who looks."""
    return Viewer("local")
