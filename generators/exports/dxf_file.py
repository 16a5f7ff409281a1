"""DXF files whose bytes depend on what is drawn alone."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ezdxf.document import Drawing

__all__ = ["write_dxf"]


def write_dxf(path: Path, draw: Callable[[Drawing], None], *, line_types: bool = False) -> None:
    """Write R2010 in millimetres; ``draw`` fills the empty document.

    ``line_types``: with dashed and dotted lines defined."""
    import ezdxf
    from ezdxf import units

    # the format keeps times and identifiers of each writing; both are fixed here
    keep = ezdxf.options.write_fixed_meta_data_for_testing
    ezdxf.options.write_fixed_meta_data_for_testing = True
    try:
        document = ezdxf.new("R2010", setup=["linetypes"] if line_types else False, units=units.MM)
        draw(document)
        # left alone they are listed in the order of a set, which differs from process to process
        for kind in sorted(document.entitydb.dxf_types_in_use()):
            document.classes.add_class(kind)
        document.saveas(path)
    finally:
        ezdxf.options.write_fixed_meta_data_for_testing = keep
