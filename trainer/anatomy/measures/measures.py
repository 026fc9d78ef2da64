"""Every tabled measure of a head, and how far the built head is from its norm.

`MEASURES` is the one list that the command and the tests go through: a name, a unit and a function
of a `Specimen`. Its norm stands under the same id in `norms.NORMS`.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from contextlib import suppress
from dataclasses import dataclass

from trainer.anatomy.measures import measures_jaw as jaw
from trainer.anatomy.measures import measures_skin as skin
from trainer.anatomy.measures import measures_skull as skull
from trainer.anatomy.measures import measures_soft as soft
from trainer.anatomy.measures import measures_teeth as teeth
from trainer.anatomy.measures.norms import NORMS, Norm
from trainer.anatomy.measures.specimen import Specimen
from trainer.errors import NotFound
from trainer.models.meshes import HeadMeshes
from trainer.models.subject import Person


@dataclass(frozen=True, slots=True)
class Measure:
    """Something to measure. ``unit`` is ``mm``, ``deg``, ``mm3``, ``g``, ``%`` or empty.

    ``needs`` is a structure that not every built head has; where it is missing, nothing is
    measured.
    """

    id: str
    name: str
    unit: str
    measure: Callable[[Specimen], float]
    needs: str | None = None


@dataclass(frozen=True, slots=True)
class Measured:
    """A measure taken on a head, beside its norm for the person's sex."""

    id: str
    name: str
    unit: str
    value: float
    norm: Norm
    person: Person

    @property
    def deviations(self) -> float | None:
        """How many published standard deviations off the mean; ``None`` where none is known."""
        return self.norm.deviations(self.value, self.person.sex)

    @property
    def within(self) -> bool | None:
        """Whether it lies within two standard deviations or the published range, if any."""
        return self.norm.holds(self.value, self.person.sex)


PAROTID, THYROID = "parotid-left", "thyroid"
SUBM, SUBL = "submandibular-gland-left", "sublingual-gland-left"
MEASURES: tuple[Measure, ...] = (
    # outside
    Measure("head-breadth", "Head breadth", "mm", skin.head_breadth),
    Measure("head-length", "Head length", "mm", skin.head_length),
    Measure("head-circumference", "Head circumference", "mm", skin.head_circumference),
    Measure("tragion-to-vertex", "Tragion to vertex", "mm", skin.tragion_to_vertex),
    Measure("menton-sellion", "Menton to sellion, skin", "mm", skin.menton_sellion),
    Measure("bizygomatic-skin", "Cheekbone breadth, skin", "mm", skin.bizygomatic_skin),
    Measure("pupils-apart", "Pupils apart", "mm", skin.pupils_apart),
    Measure("tragion-tragion", "Tragion to tragion", "mm", skin.tragion_to_tragion),
    Measure("chin-arc", "Tape tragion-chin-tragion", "mm", skin.chin_arc),
    Measure("under-jaw-arc", "Tape tragion-under jaw-tragion", "mm", skin.under_jaw_arc),
    Measure("ear-length", "Ear length", "mm", skin.ear_length),
    Measure("ear-breadth", "Ear breadth", "mm", skin.ear_breadth),
    Measure("ear-protrusion", "Ear protrusion", "mm", skin.ear_protrusion),
    Measure("neck-circumference", "Neck circumference", "mm", skin.neck_circumference),
    Measure("bigonial-skin", "Jaw angle breadth, skin", "mm", skin.bigonial_skin),
    Measure(
        "bigonial-over-bizygomatic",
        "Jaw angle over cheekbone breadth, skin",
        "",
        skin.bigonial_over_bizygomatic,
    ),
    Measure("nasion-mouth", "Nasion to lip line, skin", "mm", skin.nasion_to_mouth),
    Measure("subnasale-chin", "Base of nose to chin, skin", "mm", skin.subnasale_to_chin),
    Measure("nasion-subnasale", "Nasion to base of nose, skin", "mm", skin.nasion_to_subnasale),
    Measure("over-vertex", "Soft tissue over vertex", "mm", skin.over_vertex),
    Measure("over-side", "Soft tissue over side of skull", "mm", skin.over_side),
    Measure("over-cheekbone", "Soft tissue over cheekbone", "mm", skin.over_cheekbone),
    Measure("over-jaw-angle", "Soft tissue over jaw angle", "mm", skin.over_jaw_angle),
    Measure("over-glabella", "Soft tissue over glabella", "mm", skin.over_glabella),
    Measure("over-nasion", "Soft tissue over nasion", "mm", skin.over_nasion),
    Measure("over-subnasale", "Soft tissue at base of nose", "mm", skin.over_subnasale),
    Measure("over-pogonion", "Soft tissue over pogonion", "mm", skin.over_pogonion),
    Measure("over-menton", "Soft tissue under menton", "mm", skin.over_menton),
    # skull
    Measure("skull-breadth", "Skull breadth", "mm", skull.skull_breadth),
    Measure("skull-length", "Skull length", "mm", skull.skull_length),
    Measure("temple-bone", "Bone thickness at the temple", "mm", skull.temple_bone_thickness),
    Measure("bizygomatic-bone", "Cheekbone breadth, bone", "mm", skull.bizygomatic_bone),
    Measure("bigonial-bone", "Jaw angle breadth, bone", "mm", skull.bigonial_bone),
    Measure("porion-porion", "Porion to porion", "mm", skull.between_porions),
    Measure("frankfort-level", "Porion and orbitale off z = 0", "mm", skull.level_of_frankfort),
    Measure("orbit-width", "Orbit width", "mm", skull.orbit_width),
    Measure("orbit-height", "Orbit height", "mm", skull.orbit_height),
    Measure("orbit-depth", "Orbit depth", "mm", skull.orbit_depth),
    # side view
    Measure("s-n", "S-N", "mm", skull.sella_nasion),
    Measure("n-me", "N-Me", "mm", skull.nasion_menton),
    Measure("n-ans", "N-ANS, upright", "mm", skull.nasion_spine),
    Measure("ans-me", "ANS-Me, upright", "mm", skull.spine_menton),
    Measure("ans-pns", "ANS-PNS", "mm", skull.spine_to_spine),
    Measure("co-gn", "Co-Gn", "mm", skull.condylion_gnathion),
    Measure("co-a", "Co-A", "mm", skull.condylion_a_point),
    Measure("ar-go", "Ar-Go", "mm", skull.articulare_gonion),
    Measure("co-go", "Co-Go", "mm", skull.condylion_gonion),
    Measure("go-pog", "Go-Pog", "mm", skull.gonion_pogonion),
    Measure("facial-angle", "Facial angle", "deg", skull.facial_angle),
    Measure("convexity", "Angle of convexity", "deg", skull.convexity_angle),
    Measure("y-axis", "Y axis", "deg", skull.y_axis),
    Measure("sn-to-frankfort", "SN to Frankfort", "deg", skull.sn_to_frankfort),
    Measure("palatal-plane", "Palatal plane to Frankfort", "deg", skull.palatal_plane),
    Measure("sna", "SNA", "deg", skull.sna),
    Measure("snb", "SNB", "deg", skull.snb),
    Measure("anb", "ANB", "deg", skull.anb),
    Measure("saddle", "N-S-Ar", "deg", skull.saddle),
    Measure("n-s-ba", "N-S-Ba", "deg", skull.nasion_sella_basion),
    Measure("articular-angle", "S-Ar-Go", "deg", skull.articular_angle),
    Measure("fma", "Mandibular plane to Frankfort", "deg", jaw.mandibular_plane),
    Measure("gonial-angle", "Gonial angle", "deg", jaw.gonial_angle),
    # lower jaw
    Measure("ramus-width", "Ramus width", "mm", jaw.ramus_width),
    Measure("symphysis-height", "Jaw height in the midline", "mm", jaw.height_at_symphysis),
    Measure(
        "foramen-body-height", "Jaw height at mental foramen", "mm", jaw.height_at_mental_foramen
    ),
    # joint and hinge
    Measure("condyle-ml", "Condyle, mediolateral", "mm", jaw.condyle_mediolateral),
    Measure("condyle-ap", "Condyle, anteroposterior", "mm", jaw.condyle_anteroposterior),
    Measure("condyle-turn", "Condyle axis from coronal", "deg", jaw.condyle_turn),
    Measure("condyle-volume", "Condyle volume", "mm3", jaw.condyle_volume),
    Measure("condyles-apart", "Condyle centres apart", "mm", jaw.between_condyles),
    Measure("outer-poles-apart", "Outer condyle poles apart", "mm", jaw.between_outer_poles),
    Measure("inner-poles-apart", "Inner condyle poles apart", "mm", jaw.between_inner_poles),
    Measure("bonwill-side", "Bonwill triangle, side", "mm", jaw.bonwill_side),
    Measure("bonwill-ratio", "Bonwill triangle, side over base", "", jaw.bonwill_ratio),
    Measure("balkwill-angle", "Balkwill angle", "deg", jaw.balkwill_angle),
    Measure("hinge-forward", "Hinge before porion", "mm", jaw.hinge_before_porion),
    Measure("hinge-below", "Hinge below porion", "mm", jaw.hinge_below_porion),
    Measure("hinge-lateral", "Hinge from midline", "mm", jaw.hinge_lateral),
    Measure("joint-space-above", "Joint space, above", "mm", jaw.joint_space_above),
    Measure("joint-space-behind", "Joint space, behind", "mm", jaw.joint_space_behind),
    Measure("joint-space-front", "Joint space, in front", "mm", jaw.joint_space_in_front),
    Measure("eminence-height", "Eminence height", "mm", jaw.eminence_height),
    Measure("eminence-slope", "Eminence, steepest slope", "deg", jaw.eminence_slope),
    # canal and mental foramen
    Measure("canal-diameter", "Canal diameter", "mm", jaw.canal_diameter),
    Measure("m3-to-canal", "Third molar root to canal", "mm", jaw.apex_to_canal(38)),
    Measure("m2-to-canal", "Second molar root to canal", "mm", jaw.apex_to_canal(37)),
    Measure("m1-to-canal", "First molar root to canal", "mm", jaw.apex_to_canal(36)),
    Measure("pm2-to-canal", "Second premolar root to canal", "mm", jaw.apex_to_canal(35)),
    Measure(
        "canal-to-border", "Canal to lower border at 36", "mm", jaw.canal_to_border_at_first_molar
    ),
    Measure(
        "canal-bone-at-foramen",
        "Bone outside canal behind foramen",
        "mm",
        jaw.bone_beside_canal_behind_foramen,
    ),
    Measure(
        "canal-bone-further-back",
        "Bone outside canal, most over 30 mm",
        "mm",
        jaw.bone_beside_canal_further_back,
    ),
    Measure(
        "canal-buccal-m2",
        "Bone outside canal, 37 front root",
        "mm",
        jaw.bone_beside_canal(37, 0.25, True),
    ),
    Measure(
        "canal-buccal-pm2", "Bone outside canal at 35", "mm", jaw.bone_beside_canal(35, 0.5, True)
    ),
    Measure(
        "canal-lingual-pm2", "Bone inside canal at 35", "mm", jaw.bone_beside_canal(35, 0.5, False)
    ),
    Measure(
        "canal-lingual-m1",
        "Bone inside canal, 36 rear root",
        "mm",
        jaw.bone_beside_canal(36, 0.75, False),
    ),
    Measure("canal-cover", "Least bone round canal", "mm", jaw.least_bone_round_canal),
    Measure("foramen-to-midline", "Mental foramen to midline", "mm", jaw.foramen_to_midline),
    Measure("foramen-to-border", "Mental foramen to lower border", "mm", jaw.foramen_to_border),
    Measure("foramen-to-crest", "Mental foramen to crest", "mm", jaw.foramen_to_crest),
    Measure("foramen-size", "Mental foramen height", "mm", jaw.foramen_size),
    Measure("anterior-loop", "Anterior loop of canal", "mm", jaw.anterior_loop),
    # spaces, palate, ear
    Measure("sinus-height", "Maxillary sinus height", "mm", skull.sinus_height),
    Measure("sinus-width", "Maxillary sinus width", "mm", skull.sinus_width),
    Measure("sinus-depth", "Maxillary sinus depth", "mm", skull.sinus_depth),
    Measure("sinus-volume", "Maxillary sinus volume", "mm3", skull.sinus_volume),
    Measure("sinus-floor", "Sinus floor below ANS", "mm", skull.sinus_floor_below_spine),
    Measure("palate-length", "Hard palate length", "mm", skull.spine_to_spine),
    Measure("palate-breadth", "Hard palate breadth", "mm", skull.palate_breadth),
    Measure("palate-height", "Hard palate height", "mm", skull.palate_height),
    Measure("ear-canal-length", "Ear canal length", "mm", skull.ear_canal_length),
    Measure("tympanic-lateral", "Tympanic cavity from midline", "mm", skull.tympanic_lateral),
    Measure("airway-aa-pns", "Atlas to PNS", "mm", skull.atlas_to_spine),
    # eyes
    Measure("globe-diameter", "Eyeball diameter", "mm", skull.globe_diameter),
    Measure("globe-volume", "Eyeball volume", "mm3", skull.globe_volume),
    Measure("globe-up", "Eyeball centre above orbitale", "mm", skull.globe_above_orbitale),
    Measure("globe-back", "Eyeball centre behind orbitale", "mm", skull.globe_behind_orbitale),
    Measure("lens-width", "Lens width", "mm", skull.lens_width),
    Measure("lens-thickness", "Lens thickness", "mm", skull.lens_thickness),
    Measure("lens-volume", "Lens volume", "mm3", skull.lens_volume),
    Measure("lens-before-globe", "Lens before eyeball centre", "mm", skull.lens_before_globe),
    Measure("lens-above-incisors", "Lens above upper incisors", "mm", skull.lens_above_incisors),
    # upper neck
    Measure("hyoid-to-c3", "Hyoid before C3", "mm", skull.hyoid_before_third_vertebra),
    Measure("hyoid-to-jaw-plane", "Hyoid below jaw plane", "mm", skull.hyoid_below_jaw_plane),
    Measure("dens-below", "Dens tip below Frankfort", "mm", skull.dens_below_frankfort),
    Measure("dens-behind", "Dens tip behind porion", "mm", skull.dens_behind_porion),
    # soft parts
    Measure("parotid-length", "Parotid, upright", "mm", soft.extent(PAROTID, 2), PAROTID),
    Measure("parotid-transverse", "Parotid, fore and aft", "mm", soft.extent(PAROTID, 1), PAROTID),
    Measure("parotid-mass", "Parotid mass", "g", soft.mass(PAROTID, soft.SOFT_ORGAN), PAROTID),
    Measure("submandibular-length", "Submandibular gland length", "mm", soft.length(SUBM), SUBM),
    Measure("submandibular-volume", "Submandibular gland volume", "mm3", soft.volume(SUBM), SUBM),
    Measure("sublingual-length", "Sublingual gland length", "mm", soft.length(SUBL), SUBL),
    Measure("sublingual-volume", "Sublingual gland volume", "mm3", soft.volume(SUBL), SUBL),
    Measure("tongue-mass", "Tongue mass", "g", soft.mass("tongue", soft.MUSCLE), "tongue"),
    Measure("brain-mass", "Brain mass", "g", soft.mass("brain", soft.BRAIN), "brain"),
    Measure("thyroid-volume", "Thyroid volume", "mm3", soft.volume(THYROID), THYROID),
    Measure("thyroid-length", "Thyroid lobe length", "mm", soft.extent(THYROID, 2), THYROID),
    Measure(
        "thyroid-top", "Thyroid top below menton", "mm", soft.top_below_menton(THYROID), THYROID
    ),
    Measure(
        "thyroid-end", "Thyroid end below menton", "mm", soft.end_below_menton(THYROID), THYROID
    ),
    # teeth
    Measure("teeth-crown", "Crown lengths, most off", "%", teeth.farthest_from_table("crown")),
    Measure("teeth-root", "Root lengths, most off", "%", teeth.farthest_from_table("root")),
    Measure(
        "teeth-mesiodistal",
        "Mesiodistal widths, most off",
        "%",
        teeth.farthest_from_table("mesiodistal"),
    ),
    Measure(
        "teeth-buccolingual",
        "Buccolingual widths, most off",
        "%",
        teeth.farthest_from_table("buccolingual"),
    ),
    Measure("teeth-side", "Teeth on the wrong side", "", teeth.teeth_on_the_wrong_side),
    Measure("bolton-overall", "Bolton ratio, overall", "", teeth.bolton(6)),
    Measure("bolton-front", "Bolton ratio, front six", "", teeth.bolton(3)),
    Measure("canines-upper", "Upper canine tips apart", "mm", teeth.canine_width((2, 1))),
    Measure("canines-lower", "Lower canine tips apart", "mm", teeth.canine_width((3, 4))),
    Measure("molars-upper", "Upper first-molar cusps apart", "mm", teeth.molar_width((2, 1))),
    Measure("molars-lower", "Lower first-molar cusps apart", "mm", teeth.molar_width((3, 4))),
    Measure(
        "molar-faces-upper",
        "Upper first molars, outer faces",
        "mm",
        teeth.molar_outer_width((2, 1)),
    ),
    Measure(
        "molar-faces-lower",
        "Lower first molars, outer faces",
        "mm",
        teeth.molar_outer_width((3, 4)),
    ),
    Measure("depth-m1-upper", "Upper arch depth to 26 rear face", "mm", teeth.arch_depth(21, 26)),
    Measure("depth-m1-lower", "Lower arch depth to 36 rear face", "mm", teeth.arch_depth(31, 36)),
    Measure("depth-m2-upper", "Upper arch depth to 27 rear face", "mm", teeth.arch_depth(21, 27)),
    Measure("depth-m2-lower", "Lower arch depth to 37 rear face", "mm", teeth.arch_depth(31, 37)),
    Measure("overjet", "Overjet", "mm", teeth.overjet),
    Measure("overbite", "Overbite", "mm", teeth.overbite),
    Measure("spee-depth", "Curve of Spee, depth", "mm", teeth.spee_depth),
    Measure("cusp-sphere", "Sphere of lower cusps, radius", "mm", teeth.sphere_of_cusps),
    Measure("contacts", "Neighbouring crowns, most off contact", "mm", teeth.farthest_from_contact),
    Measure("occlusal-cant", "Occlusal plane to Frankfort", "deg", teeth.occlusal_cant),
    Measure(
        "u1-to-frankfort", "Upper incisor to Frankfort", "deg", teeth.upper_incisor_to_frankfort
    ),
    Measure("u1-to-sn", "Upper incisor to SN", "deg", teeth.upper_incisor_to_sn),
    Measure("impa", "Lower incisor to jaw plane", "deg", teeth.lower_incisor_to_jaw_plane),
    Measure("interincisal", "Interincisal angle", "deg", teeth.between_incisors),
    Measure("u1-to-palate", "Upper incisor edge to palatal plane", "mm", teeth.edge_to_palate),
    Measure("u6-to-palate", "Upper molar cusp to palatal plane", "mm", teeth.molar_to_palate),
    Measure("l1-to-jaw-plane", "Lower incisor edge to jaw plane", "mm", teeth.edge_to_jaw_plane),
    Measure("l6-to-jaw-plane", "Lower molar cusp to jaw plane", "mm", teeth.molar_to_jaw_plane),
    Measure(
        "u6-off-starter", "Upper molar cusp off its landmark", "mm", teeth.molar_cusp_off_starter
    ),
    # opening
    Measure("hinge-5", "Turn at 5 mm, hinge", "deg", jaw.opening_angle(5.0, "hinge")),
    Measure("hinge-9.5", "Turn at 9.5 mm, hinge", "deg", jaw.opening_angle(9.5, "hinge")),
    Measure("hinge-10", "Turn at 10 mm, hinge", "deg", jaw.opening_angle(10.0, "hinge")),
    Measure("hinge-15", "Turn at 15 mm, hinge", "deg", jaw.opening_angle(15.0, "hinge")),
    Measure("free-5", "Turn at 5 mm, free", "deg", jaw.opening_angle(5.0, "free")),
    Measure("free-9.5", "Turn at 9.5 mm, free", "deg", jaw.opening_angle(9.5, "free")),
    Measure("free-15", "Turn at 15 mm, free", "deg", jaw.opening_angle(15.0, "free")),
    Measure("free-20", "Turn at 20 mm, free", "deg", jaw.opening_angle(20.0, "free")),
    Measure("free-45", "Turn at 45 mm, free", "deg", jaw.opening_angle(45.0, "free")),
    Measure("opening-44", "Turn at 44 mm", "deg", jaw.opening_angle(44.0, "hinge")),
    Measure("largest-opening", "Largest opening of the model", "mm", jaw.largest_opening),
    Measure("condyle-path", "Condyle way at 44 mm", "mm", jaw.condyle_path),
    Measure("condyles-keep", "Condyles apart, change", "mm", jaw.change_between_condyles),
    Measure("incisor-path", "Incisor way when 10 mm are asked", "mm", jaw.incisor_path),
)
BY_ID = {measure.id: measure for measure in MEASURES}


def measured(specimen: Specimen, measure: Measure) -> Measured:
    """One measure taken on a head."""
    value = float(measure.measure(specimen))
    return Measured(
        measure.id, measure.name, measure.unit, value, NORMS[measure.id], specimen.person
    )


def measurable(structure_ids: Collection[str]) -> tuple[Measure, ...]:
    """The measures that can be taken on a head with these structures."""
    return tuple(m for m in MEASURES if m.needs is None or m.needs in structure_ids)


def measure_head(head: HeadMeshes) -> tuple[Measured, ...]:
    """Every measure that can be taken on a built head, beside its norm, which is an adult's.

    What asks for a tooth that is lost or has not come through is left out.
    """
    specimen = Specimen(head)
    found = []
    for measure in measurable(head.head.structures.keys()):
        with suppress(NotFound):
            found.append(measured(specimen, measure))
    return tuple(found)
