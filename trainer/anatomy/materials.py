"""What the head is made of: density and elements of tissues and dental materials.

Rows may sum to 99-101 % through the rounding of their sources; `TabledMaterial.material` is not.
Where the table of a source was met in another's copy, both are named. The mark says how far a row
can be trusted: ``confirmed`` (seen in the copy named), ``derived`` (worked out from other figures),
``from memory``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from trainer.models.materials import Material, normalised

ICRU_44 = "ICRU Report 44 (1989), as copied in spekpy's data"
ICRP_110 = "ICRP Publication 110 (2009), male media, as coded in Geant4's example ICRP110"
PNNL = "PNNL Compendium of Material Composition Data, as packaged"


@dataclass(frozen=True, slots=True)
class TabledMaterial:
    """A row of the table: density [g/cm3] and mass percent of elements, as the source has them."""

    name: str
    density_g_cm3: float
    percent: Mapping[str, float]
    source: str
    mark: str = "confirmed"

    @property
    def material(self) -> Material:
        """The same as the physics takes it, its mass fractions adding up to 1."""
        return Material(self.name, self.density_g_cm3, normalised(self.percent))


def _tissue(elements: str, *percent: float) -> Mapping[str, float]:
    return MappingProxyType(dict(zip(elements.split(), percent, strict=True)))


_ALL = (
    TabledMaterial(
        "air", 0.001205, _tissue("C N O Ar", 0.0124, 75.53, 23.18, 1.283),
        "dry air near sea level: NIST composition, as copied in spekpy's data",
    ),
    TabledMaterial(
        "soft tissue", 1.06,
        _tissue("H C N O Na P S Cl K", 10.2, 14.3, 3.4, 70.8, 0.2, 0.3, 0.3, 0.2, 0.3),
        "ICRU Report 44 (1989)", "from memory",
    ),
    TabledMaterial(
        "skin", 1.09,
        _tissue("H C N O Na P S Cl K", 10.0, 20.4, 4.2, 64.5, 0.2, 0.1, 0.2, 0.3, 0.1),
        ICRU_44,
    ),
    TabledMaterial(
        "adipose", 0.95, _tissue("H C N O Na S Cl", 11.4, 59.8, 0.7, 27.8, 0.1, 0.1, 0.1), ICRU_44
    ),
    TabledMaterial(
        "muscle", 1.05,
        _tissue("H C N O Na P S Cl K", 10.2, 14.3, 3.4, 71.0, 0.1, 0.2, 0.3, 0.1, 0.4),
        ICRU_44,
    ),
    TabledMaterial(
        "brain", 1.04,
        _tissue("H C N O Na P S Cl K", 10.7, 14.5, 2.2, 71.2, 0.2, 0.4, 0.2, 0.3, 0.3),
        ICRU_44,
    ),
    TabledMaterial(
        "eye lens", 1.07, _tissue("H C N O Na P S Cl", 9.6, 19.5, 5.7, 64.6, 0.1, 0.1, 0.3, 0.1),
        ICRU_44,
    ),
    TabledMaterial(
        "cartilage", 1.10,
        _tissue("H C N O Na P S Cl", 9.6, 9.9, 2.2, 74.4, 0.5, 2.2, 0.9, 0.3), ICRU_44,
    ),
    TabledMaterial(
        "cortical bone", 1.92,
        _tissue("H C N O Na Mg P S Ca", 3.4, 15.5, 4.2, 43.5, 0.1, 0.2, 10.3, 0.3, 22.5),
        ICRU_44,
    ),
    TabledMaterial(
        "spongy bone of the cranium", 1.157,
        _tissue("H C N O Na P S Cl K Ca", 9.0, 33.5, 2.5, 46.7, 0.2, 2.6, 0.3, 0.2, 0.1, 4.9),
        ICRP_110,
    ),
    TabledMaterial(
        "spongy bone of the mandible", 1.228,
        _tissue("H C N O Na Mg P S Cl Ca", 8.3, 26.6, 2.7, 51.1, 0.3, 0.1, 3.6, 0.4, 0.2, 6.7),
        ICRP_110,
    ),
    TabledMaterial(
        "spongy bone of the neck", 1.050,
        _tissue("H C N O Na P S Cl K Ca Fe", 10.3, 40.0, 2.7, 44.4, 0.1, 0.7, 0.2, 0.2, 0.1, 1.2,
                0.1),
        ICRP_110,
    ),
    TabledMaterial(
        "thyroid", 1.04,
        _tissue("H C N O Na P S Cl K I", 10.4, 11.7, 2.6, 74.5, 0.2, 0.1, 0.1, 0.2, 0.1, 0.1),
        ICRP_110,
    ),
    TabledMaterial(
        "soft organ", 1.03,
        _tissue("H C N O Na P S Cl K", 10.4, 23.1, 2.8, 62.7, 0.1, 0.2, 0.3, 0.2, 0.2),
        ICRP_110 + ", miscellaneous: salivary glands, mucosa, airway wall",
    ),
    TabledMaterial(
        "enamel", 2.93, _tissue("H C N O P Ca", 0.6, 0.5, 0.2, 42.6, 17.8, 38.3),
        "96 % hydroxyapatite, 3 % water, 1 % protein; density range 2.84-3.00", "derived",
    ),
    TabledMaterial(
        "dentine", 2.11, _tissue("H C N O P S Ca", 2.7, 9.6, 3.1, 43.6, 13.0, 0.2, 27.9),
        "70 % mineral, 18 % organic, 12 % water; density range 2.05-2.20", "derived",
    ),
    TabledMaterial(
        # treated as soft tissue of its own density
        "pulp", 1.04,
        _tissue("H C N O Na P S Cl K", 10.2, 14.3, 3.4, 70.8, 0.2, 0.3, 0.3, 0.2, 0.3),
        "elements of soft tissue, ICRU Report 44 (1989)", "from memory",
    ),
    TabledMaterial(
        "tooth", 2.75, _tissue("H C N O Mg P Ca", 2.2, 9.5, 2.9, 42.1, 0.7, 13.7, 28.9), ICRP_110
    ),
    # Restorations and hardware.
    TabledMaterial(
        "amalgam", 11.0, _tissue("Hg Ag Sn Cu", 47.0, 33.0, 13.0, 7.0),
        "dental materials textbooks; density 10.5-12", "from memory",
    ),
    TabledMaterial(
        "gold alloy", 15.5, _tissue("Au Ag Cu Pd Zn", 75.0, 11.0, 9.0, 3.5, 1.0),
        "casting alloy type III; density 14-17", "from memory",
    ),
    TabledMaterial(
        "zirconia", 6.05, _tissue("Zr O Y Hf", 70.0, 25.5, 4.0, 1.0),
        "ISO 13356: density at least 6.00", "from memory",
    ),
    TabledMaterial("titanium", 4.54, _tissue("Ti", 100.0), PNNL),
    TabledMaterial("titanium alloy", 4.43, _tissue("Ti Al V", 90.0, 6.0, 4.0), PNNL + ", grade 5"),
    TabledMaterial(
        "steel", 7.9, _tissue("Fe Cr Ni", 70.0, 19.0, 10.0), "stainless steel 18-8", "from memory"
    ),
    TabledMaterial(
        # trans-polyisoprene 20, zinc oxide 66, barium sulphate 11, wax as CH2 3
        "gutta-percha", 2.6, _tissue("H C O S Zn Ba", 2.8, 20.2, 16.0, 1.5, 53.0, 6.5),
        "components: Friedman et al., J. Dent. Res. 1975; elements and density by mixing",
        "derived",
    ),
    TabledMaterial(
        "cobalt-chrome", 8.3, _tissue("Co Cr Mo Si Mn Fe C", 62.0, 30.0, 5.0, 1.0, 1.0, 0.6, 0.4),
        "dental casting alloy; how the last 3 % divide is a guess", "from memory",
    ),
    TabledMaterial(
        # resin as C18 H26 O6 22, silica 60, barium oxide 18: filler of silica and barium glass
        "composite", 2.1, _tissue("H C O Si Ba", 1.7, 14.1, 40.0, 28.1, 16.1),
        "filled resin, density from memory; elements by mixing 22 % resin, 60 % silica, "
        "18 % barium oxide", "derived",
    ),
    TabledMaterial(
        # 0.6 g in 0.18 cm3: zinc powder, steel can, some potassium hydroxide in water
        "button cell", 3.4, _tissue("H O K Fe Ni Zn", 0.6, 6.0, 1.9, 40.0, 3.5, 48.0),
        "zinc-air cell of size 312 as one body", "from memory",
    ),
    TabledMaterial("acrylic", 1.19, _tissue("H C O", 8.05, 59.98, 31.96), PNNL),
)  # fmt: skip

MATERIALS: Mapping[str, TabledMaterial] = MappingProxyType({m.name: m for m in _ALL})
