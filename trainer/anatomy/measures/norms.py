"""Published figures that a mean head is held against, each with its source and how far to trust it.

Ids are those of `measures.MEASURES`; the unit stands there. Figures are for the mean adult man and
woman. Where sources disagree, the one this project follows is given and the others are named.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from trainer.models.subject import Sex

# Decimals that are shown, and that decide at the end of a range.
SHOWN = 2
# One figure for both sexes, or (man, woman).
Figure = float | tuple[float, float]


class Mark(StrEnum):
    """How a figure came here."""

    CONFIRMED = "confirmed"  # read in the source named
    COMPUTED = "computed"  # from the data set named
    ONE_CT = "one CT"  # measured on one adult head CT: a sanity check, never a norm
    DERIVED = "derived"  # arithmetic from other figures, or true by definition
    MEMORY = "from memory"  # recalled from the work named, not read again


@dataclass(frozen=True, slots=True)
class Norm:
    """A published figure.

    ``mean``, ``sd`` (standard deviation), ``low`` and ``high`` (published range) are one number or
    (man, woman); what is not published is ``None``. A range may have a lower end only.
    """

    source: str
    mark: Mark
    mean: Figure | None = None
    sd: Figure | None = None
    low: Figure | None = None
    high: Figure | None = None

    def deviations(self, value: float, sex: Sex) -> float | None:
        """How many standard deviations a value lies above the mean; ``None`` without both."""
        mean, sd = figure(self.mean, sex), figure(self.sd, sex)
        return None if mean is None or sd is None else (value - mean) / sd

    def holds(self, value: float, sex: Sex) -> bool | None:
        """Whether a value lies in the range, or else within two SD; ``None`` without either."""
        low, high = figure(self.low, sex), figure(self.high, sex)
        if low is not None:
            shown = round(value, SHOWN)
            return low <= shown and (high is None or shown <= high)
        off = self.deviations(value, sex)
        return None if off is None else abs(off) <= 2.0


def figure(both: Figure | None, sex: Sex) -> float | None:
    """The figure of one sex."""
    if isinstance(both, tuple):
        return both[0] if sex is Sex.MALE else both[1]
    return both


def _mean(mean: Figure, sd: Figure | None, mark: Mark, source: str) -> Norm:
    return Norm(source, mark, mean, sd)


def _span(
    low: Figure, high: Figure | None, mark: Mark, source: str, mean: Figure | None = None
) -> Norm:
    return Norm(source, mark, mean, None, low, high)


# short, for the tables below
C, P, CT, D, M = Mark.CONFIRMED, Mark.COMPUTED, Mark.ONE_CT, Mark.DERIVED, Mark.MEMORY
ANSUR = "ANSUR II, US Army 2012 (4082 men, 1986 women)"
ONE_HEAD = "one adult head CT, 2 mm in plane, 3 mm upright"
FACE_DEPTHS = "Stephan & Simpson, pooled soft tissue depths, 2008"
FARKAS = "Farkas, Anthropometry of the Head and Face, 1994"
OSTEOMETRY = "osteometry texts"
COGS = "Burstone et al., COGS, 1978"
MCNAMARA = "McNamara 1984, divided by 1.08 for enlargement"
SAUDI = "Saudi Dental Journal 2021 (CBCT, n = 800), right and left averaged"
ENDODONT = "J. Endod. 2016 (n = 106)"
ARCHES = "Class I arch-width study, n = 76 (abstract)"
EYES = "eye texts"
WHEELER = "Ash & Nelson, Wheeler's Dental Anatomy, table 1-1; 3 % is this project's bound"
OPENING = "turn about the hinge: chord of 2 x 87 mm x sin(angle / 2)"
FREE = "turn about a point 32 below the condyle (Mehl et al., Clin. Oral Investig. 2025)"
KORDASS = "Kordass et al., Int. J. Comput. Dent. 2014 (n = 259)"

OUTSIDE = {
    "head-breadth": _mean((154.3, 147.8), (5.5, 5.2), P, ANSUR),
    "head-length": _mean((199.5, 189.8), (7.0, 7.4), P, ANSUR),
    "head-circumference": _mean((574.4, 561.1), (16.0, 19.4), P, ANSUR + "; women with hair"),
    "tragion-to-vertex": _mean((131.1, 126.5), (6.2, 6.5), P, ANSUR),
    "menton-sellion": _mean((122.6, 113.1), (6.7, 6.1), P, ANSUR),
    "bizygomatic-skin": _mean((142.6, 133.8), (6.2, 5.6), P, ANSUR),
    "pupils-apart": _mean((64.0, 61.7), (3.4, 3.6), P, ANSUR),
    "tragion-tragion": _mean((144.0, 134.0), (6.0, 5.0), M, "ANSUR I 1988 / Farkas 1994, roughly"),
    "chin-arc": _mean((331.7, 311.0), (14.0, 14.2), P, ANSUR),
    "under-jaw-arc": _mean((315.7, 288.0), (16.6, 15.3), P, ANSUR),
    "ear-length": _mean((64.2, 59.4), (4.5, 3.9), P, ANSUR),
    "ear-breadth": _mean((36.1, 33.2), (3.0, 2.8), P, ANSUR),
    "ear-protrusion": _mean((23.2, 20.4), (3.0, 2.7), P, ANSUR),
    "neck-circumference": _mean((397.6, 329.8), (25.8, 19.2), P, ANSUR),
    "bigonial-skin": _mean(
        (114.7, 101.6),
        (8.6, 9.1),
        C,
        "Kerman mandible study, Jiroft Univ. Med. Sci. journal (18-30 years, n = 300); 106.6 / "
        "96.8: Maxillofac. Plast. Reconstr. Surg. 2019, table 9",
    ),
    "bigonial-over-bizygomatic": _mean((0.78, 0.75), 0.06, D, "from both breadths above"),
    "nasion-mouth": _mean((77.0, 69.0), None, M, FARKAS),
    "subnasale-chin": _mean((72.6, 64.3), None, M, FARKAS),
    "nasion-subnasale": _mean((54.8, 50.6), None, M, FARKAS),
    "over-vertex": _mean(4.5, None, CT, ONE_HEAD),
    "over-side": _mean(6.7, None, CT, ONE_HEAD),
    "over-cheekbone": _span(6.0, 10.0, M, FACE_DEPTHS + "; one CT about 10"),
    "over-jaw-angle": _span(11.0, 17.0, M, FACE_DEPTHS),
    "over-glabella": _mean(5.5, None, M, FACE_DEPTHS),
    "over-nasion": _mean(6.5, None, M, FACE_DEPTHS),
    "over-subnasale": _mean(15.6, 2.4, C, "Lebanese adults, Forensic Sci. Int. 2018 (n = 222)"),
    "over-pogonion": _mean(11.0, None, M, FACE_DEPTHS),
    "over-menton": _mean(7.5, None, M, FACE_DEPTHS),
}
SKULL = {
    "skull-breadth": _mean((142.0, 137.0), 5.0, M, "Howells series"),
    "skull-length": _mean((183.0, 175.0), (7.0, 6.0), M, "Howells series"),
    "temple-bone": _span(4.3, 5.4, CT, ONE_HEAD),
    "bizygomatic-bone": _mean((131.0, 123.0), 5.0, M, OSTEOMETRY),
    "bigonial-bone": _mean((101.0, 93.0), (6.0, 5.0), M, OSTEOMETRY),
    "porion-porion": _span(105.0, 115.0, M, "osteometry texts; one CT 109"),
    "frankfort-level": _span(
        0.0, 0.5, D, "by definition (Frankfurt 1884); 0.5 mm is this project's bound"
    ),
    "orbit-width": _mean(40.0, None, M, "osteometry texts; one CT 37"),
    "orbit-height": _mean(35.0, None, M, "osteometry texts; one CT 37"),
    "orbit-depth": _span(42.0, 45.0, M, OSTEOMETRY),
    "s-n": _mean((73.0, 69.0), 3.0, M, "Riolo atlas 1974 less enlargement; one CT 72.9"),
    "n-me": _mean((122.0, 112.0), (6.0, 5.0), M, "Riolo / Bolton less enlargement"),
    "n-ans": _mean((54.7, 50.0), (3.2, 2.4), M, COGS),
    "ans-me": _mean((68.6, 61.3), (3.8, 3.3), M, COGS),
    "ans-pns": _mean((52.0, 49.0), 3.0, M, "between dry skulls (48.5) and COGS (57.7 / 52.6)"),
    "co-gn": _mean((124.0, 111.0), (6.0, 5.0), M, MCNAMARA),
    "co-a": _mean((92.0, 84.0), (5.0, 4.0), M, MCNAMARA),
    "ar-go": _mean((52.0, 46.8), (4.2, 2.5), M, COGS),
    "co-go": _mean((61.0, 55.0), 4.0, M, "no single source; partly derived"),
    "go-pog": _mean((83.7, 74.3), (4.6, 5.8), M, COGS),
    "facial-angle": _span(82.0, 95.0, C, "Downs 1948, as restated in two teaching decks", 87.8),
    "convexity": _span(-8.5, 10.0, C, "Downs 1948, as restated in two teaching decks", 0.0),
    "y-axis": _span(53.0, 66.0, M, "Downs 1948", 59.4),
    "sn-to-frankfort": _mean(6.7, 3.1, C, "Nepalese study (n = 238); POJ 2021: 7.2 (2.5)"),
    "palatal-plane": _mean(-1.0, 3.0, M, "0 to -2: Ricketts / Downs teaching; one CT -2.9"),
    "sna": _mean(82.0, 3.0, M, "Steiner 1953"),
    "snb": _mean(80.0, 3.0, M, "Steiner 1953"),
    "anb": _mean(2.0, 3.0, M, "Steiner 1953"),
    "saddle": _mean(123.0, 5.0, M, "Bjork / Jarabak"),
    "n-s-ba": _mean(130.0, 5.0, M, "cranial base literature; one CT 124"),
    "articular-angle": _mean(143.0, 6.0, M, "Bjork / Jarabak"),
}
SPACES = {
    "sinus-height": _mean((34.8, 33.2), None, C, "Australasian Orthod. J. 2025; others 30 to 47"),
    "sinus-width": _mean(27.0, 6.0, C, "Ariji et al. (n = 107)"),
    "sinus-depth": _mean(35.6, 4.7, C, "Ariji et al. (n = 107)"),
    "sinus-volume": _span(12000.0, 18000.0, M, "no single source"),
    "sinus-floor": _mean(3.7, 4.4, C, "Ariji et al. (n = 107)"),
    "palate-length": _mean(48.5, 4.7, C, "Varalakshmi et al., IJRMS 2017 (65 skulls)"),
    "palate-breadth": _mean(36.0, 4.4, C, "Varalakshmi et al., IJRMS 2017 (65 skulls)"),
    "palate-height": _span(
        8.6, 16.5, C, "Varalakshmi 2017: 8.6 (2.8); Punjab skull study 2025: 16.5; 12 used", 12.0
    ),
    "ear-canal-length": _mean(31.4, 3.1, C, "ear canals on high-resolution CT, 2023 (66 ears)"),
    "tympanic-lateral": _mean(33.5, None, CT, ONE_HEAD),
    "airway-aa-pns": _mean(32.9, 3.7, C, "Bibby & Preston, Am. J. Orthod. 1981"),
    "globe-diameter": _mean(24.0, None, M, EYES),
    "globe-volume": _mean(7200.0, None, M, "eye texts; one CT 7500 to 7900"),
    "globe-up": _span(17.0, 18.0, CT, ONE_HEAD + " (18.4)"),
    "globe-back": _span(5.0, 6.0, CT, ONE_HEAD),
    "lens-width": _span(9.0, 10.0, M, EYES),
    "lens-thickness": _span(4.0, 4.5, M, EYES),
    "lens-volume": _mean(200.0, None, M, EYES),
    "lens-before-globe": _mean(6.0, None, M, EYES),
    "lens-above-incisors": _mean(
        (71.0, 65.0), 5.0, D, "nasion to lips, pupil 8 below nasion, edge 2.5 below lip line"
    ),
    "hyoid-to-c3": _mean(31.8, 2.9, C, "Bibby & Preston, Am. J. Orthod. 1981"),
    "hyoid-to-jaw-plane": _span(12.0, 18.0, M, "no single source"),
    "dens-below": _mean(21.5, None, CT, ONE_HEAD),
    "dens-behind": _mean(3.0, None, CT, ONE_HEAD),
}
ICRP = "ICRP 89"
SOFT = {
    "parotid-length": _span(41.0, 53.0, C, "Nigerian sonographic biometry (n = 400)", 47.0),
    "parotid-transverse": _span(37.0, 38.0, C, "Nigerian sonographic biometry (n = 400)"),
    "parotid-mass": _mean(25.0, None, M, ICRP),
    "submandibular-length": _mean(32.6, None, C, "ultrasound study (n = 100)"),
    "submandibular-volume": _mean(7100.0, 2500.0, C, "ultrasound study (n = 100); CT 8.1 (2.6) mL"),
    "sublingual-length": _mean(40.0, None, M, "ICRP 89 / Gray"),
    "sublingual-volume": _span(2000.0, 3000.0, M, "ICRP 89 / Gray"),
    "tongue-mass": _mean((73.0, 60.0), None, M, ICRP),
    "brain-mass": _mean((1450.0, 1300.0), None, M, ICRP),
    "thyroid-volume": _span(
        15000.0, 25000.0, C, "University of Virginia thyroid ultrasound course 2013, as 15-25 g"
    ),
    "thyroid-length": _span(40.0, 60.0, C, "University of Virginia thyroid ultrasound course 2013"),
    "thyroid-top": _mean(30.0, 10.0, D, "from hyoid and larynx, head neutral; weak"),
    "thyroid-end": _mean(80.0, 12.0, D, "from hyoid and larynx, head neutral; weak"),
}
JAW = {
    "fma": _mean(25.0, 5.0, C, "dental reference page (low authority); Tweed / Downs from memory"),
    "gonial-angle": _mean(124.8, 7.0, C, "Head & Face Medicine 2020; SD from memory: Burstone"),
    "ramus-width": _mean(31.3, None, C, "Head & Face Medicine 2020 (150 rami)"),
    "symphysis-height": _mean((33.0, 29.0), None, M, OSTEOMETRY),
    "foramen-body-height": _span(28.0, 31.0, M, OSTEOMETRY),
    "condyle-ml": _mean((17.2, 17.0), None, C, SAUDI),
    "condyle-ap": _mean(8.85, None, C, SAUDI),
    "condyle-turn": _span(15.0, 25.0, M, "no single source; one CT about 20"),
    "condyle-volume": _mean(
        (691.0, 670.0), (55.0, 59.0), C, "Tecco et al., BMC Med. Imaging 2010 (300 joints)"
    ),
    "condyles-apart": _mean(
        (102.0, 96.0), None, C, "Bonwill's triangle: Nikolopoulou et al. 2019; one CT 101.4"
    ),
    "outer-poles-apart": _span(115.0, 122.0, M, "osteometry texts; one CT 119.6"),
    "inner-poles-apart": _mean(83.0, None, CT, ONE_HEAD),
    "bonwill-side": _span(
        96.0, 110.0, C, "Nikolopoulou et al. 2019 (19 mandibles); Christensen 1959", 101.0
    ),
    "bonwill-ratio": _span(
        0.92, 1.08, C, "equilateral: Nikolopoulou et al. 2019; 0.08 is this project's bound", 1.0
    ),
    "balkwill-angle": _span(18.0, 28.0, C, "Christensen, quoting Balkwill, Hart and others", 23.0),
    "hinge-forward": _mean(11.0, None, CT, ONE_HEAD + "; arbitrary-axis rules"),
    "hinge-below": _mean(4.5, None, CT, ONE_HEAD + "; arbitrary-axis rules"),
    "hinge-lateral": _mean(51.0, None, CT, ONE_HEAD),
    "joint-space-above": _span(2.0, 4.0, M, "no single source"),
    "joint-space-behind": _span(1.5, 2.5, M, "no single source"),
    "joint-space-front": _span(1.5, 2.5, M, "no single source"),
    "eminence-height": _mean(7.0, 1.5, M, "no single source"),
    "eminence-slope": _mean(60.3, 10.2, C, "Bilgin et al., Cranio 2000 (n = 64)"),
    "canal-diameter": _mean(2.7, 0.5, C, "2.5-2.6: J. Orthod. Sci. 2024; 2.9-3.0: " + ENDODONT),
    "m3-to-canal": _mean(2.9, None, C, "women: Peruvian CBCT study (Odontos)"),
    "m2-to-canal": _mean((4.0, 2.9), None, C, "Peruvian CBCT study (Odontos)"),
    "m1-to-canal": _span(
        (4.0, 2.9), None, C, "not less than at the second molar: Littner et al., J. Endod. 1987"
    ),
    "pm2-to-canal": _mean(5.5, None, C, "Peruvian CBCT study; Galen Med. J. 2025"),
    "canal-to-border": _span(8.0, 10.0, M, "no single source"),
    "canal-bone-at-foramen": _mean(4.0, None, C, "Zurich CBCT study (n = 314), PMC6856235"),
    "canal-bone-further-back": _mean(6.0, None, C, "Zurich CBCT study (n = 314), PMC6856235"),
    "canal-buccal-m2": _mean(5.4, None, C, ENDODONT),
    "canal-buccal-pm2": _mean(2.6, None, C, ENDODONT),
    "canal-lingual-pm2": _mean(3.8, None, C, ENDODONT),
    "canal-lingual-m1": _mean(1.7, None, C, ENDODONT),
    "canal-cover": _span(0.0, None, D, "the canal lies in bone all the way"),
    "foramen-to-midline": _mean(25.2, 3.5, C, "Medicina 2026; Int. J. Dent. 2016: 25.5-25.9"),
    "foramen-to-border": _mean(13.3, 2.3, C, "Int. J. Dent. 2016; others 12.3 and 13.7"),
    "foramen-to-crest": _mean(12.3, 4.0, C, "Medicina 2026; Int. J. Dent. 2018: 11.2"),
    "foramen-size": _mean(3.0, None, C, "von Arx et al., J. Endod. 2013"),
    "anterior-loop": _mean(2.3, None, C, "von Arx et al., J. Endod. 2013, where present"),
    "hinge-5": _mean(3.3, None, D, OPENING),
    "hinge-9.5": _mean(6.3, None, D, OPENING),
    "hinge-10": _span(6.1, 6.6, D, OPENING),
    "hinge-15": _mean(9.9, None, D, OPENING),
    "free-5": _mean(3.7, None, D, FREE),
    "free-9.5": _mean(7.1, None, D, FREE),
    "free-15": _mean(11.2, None, D, FREE),
    "free-20": _mean(15.0, None, D, FREE),
    "free-45": _mean(34.0, None, D, FREE),
    "opening-44": _mean(32.2, 6.0, C, KORDASS),
    "largest-opening": _mean(
        (51.3, 44.3), (8.3, 6.7), C, "Indian study (n = 894); others 50.6 to 56.6 / 48.5 to 49.6"
    ),
    "condyle-path": _mean(14.5, 4.2, C, KORDASS),
    "condyles-keep": _span(0.0, 0.01, D, "the jaw is rigid"),
    "incisor-path": _mean(10.0, None, D, "what was asked for"),
}
TEETH = {
    "teeth-crown": _span(-3.0, 3.0, M, WHEELER, 0.0),
    "teeth-root": _span(-3.0, 3.0, M, WHEELER, 0.0),
    "teeth-mesiodistal": _span(-3.0, 3.0, C, WHEELER, 0.0),
    "teeth-buccolingual": _span(-3.0, 3.0, M, WHEELER, 0.0),
    "teeth-side": _span(0.0, 0.0, D, "ISO 3950; DICOM PS3.3 C.7.6.2.1.1"),
    "bolton-overall": _mean(0.913, 0.019, M, "Bolton; the table's own widths give 0.914"),
    "bolton-front": _mean(0.772, 0.0165, M, "Bolton; the table's own widths give 0.778"),
    "canines-upper": _mean(35.4, 1.5, C, ARCHES),
    "canines-lower": _mean(26.9, 1.6, C, ARCHES),
    "molars-upper": _mean(53.8, 2.8, C, ARCHES),
    "molars-lower": _mean(51.7, 2.6, C, ARCHES),
    "molar-faces-upper": _mean(57.9, 4.8, C, "Mina et al., Odontology 2017 (n = 54, 12-16 years)"),
    "molar-faces-lower": _mean(54.2, 5.3, C, "Mina et al., Odontology 2017 (n = 54, 12-16 years)"),
    "depth-m1-upper": _mean(31.6, 2.9, C, "Mina et al., Odontology 2017; point of 26 not stated"),
    "depth-m1-lower": _mean(28.1, 2.6, C, "Mina et al., Odontology 2017; point of 36 not stated"),
    "depth-m2-upper": _span(42.0, 44.0, D, "from arch perimeters"),
    "depth-m2-lower": _span(39.0, 41.0, D, "from arch perimeters"),
    "overjet": _mean(2.5, 1.0, M, "orthodontic textbooks"),
    "overbite": _mean(2.5, 1.0, M, "orthodontic textbooks"),
    "spee-depth": _mean(2.17, None, C, "Marshall et al., curve of Spee (n = 33), at 12.4 years"),
    "cusp-sphere": _mean(
        (105.0, 100.0), None, C, "Ferrario et al., Arch. Oral Biol. 1997 (n = 40); 2019: 121 / 104"
    ),
    "contacts": _span(0.0, 0.3, D, "neighbours touch; 0.3 mm is this project's bound"),
    "occlusal-cant": _mean(8.0, 4.0, C, "dental reference page; Downs 9.3; Iwate Dental J. 7.73"),
    "u1-to-frankfort": _mean(110.0, 5.0, M, "Steiner, Ricketts"),
    "u1-to-sn": _mean(103.0, 5.0, M, "Steiner, Ricketts"),
    "impa": _mean(91.0, 5.0, M, "Downs / Tweed"),
    "interincisal": _span(130.0, 150.0, M, "Downs 135.4, Steiner 131"),
    "u1-to-palate": _mean((30.5, 27.5), (2.1, 1.7), M, COGS),
    "u6-to-palate": _mean((26.2, 23.0), (2.0, 1.3), M, COGS),
    "l1-to-jaw-plane": _mean((45.0, 40.8), (2.1, 1.8), M, COGS),
    "l6-to-jaw-plane": _mean((35.8, 32.1), (2.6, 1.9), M, COGS),
    "u6-off-starter": _span(0.0, 2.0, D, "constructed landmark set; 2 mm is this project's bound"),
}
NORMS: dict[str, Norm] = {**OUTSIDE, **SKULL, **SPACES, **SOFT, **JAW, **TEETH}
