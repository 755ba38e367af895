"""German, Spanish, French and Sanskrit in notes: names of poses with and without accents, units, sides; English first.

The names and words are those in everyday use in classes of these languages; common practice, no source.
"""

import csv
import shutil
import unicodedata
from importlib import resources
from pathlib import Path
from types import SimpleNamespace

import pytest

from pairing.plan import language, poses
from pairing.plan.language import languages, lexicon_of, spelled
from pairing.plan.names import key
from pairing.plan.poses import SHARED_NAMES, pose_table

TABLE = pose_table()
FOLDER = resources.files("pairing.plan").joinpath("languages")
FILES = sorted(file.name for file in FOLDER.iterdir() if file.name.startswith("poses_"))


def rows(file: str) -> list[tuple[str, list[str]]]:
    text = FOLDER.joinpath(file).read_text(encoding="utf-8")
    return [(row["pose_id"], row["names"].split("|")) for row in csv.DictReader(text.splitlines())]


def bare(name: str) -> str:
    """The name as typed on a keyboard without accents."""
    return "".join(c for c in unicodedata.normalize("NFKD", name) if not unicodedata.combining(c))


@pytest.mark.parametrize("file", FILES)
def test_every_name_is_found_with_and_without_accents_unless_an_earlier_language_has_it(file: str) -> None:
    earlier = {key(name) for pose in TABLE.poses.values() for name in pose.names} | {key(n) for n in SHARED_NAMES}
    for before in FILES[: FILES.index(file)]:
        earlier |= {key(name) for _, names in rows(before) for name in names}
    for pose_id, names in rows(file):
        for name in names:
            found = {TABLE.find(name).pose, TABLE.find(bare(name)).pose}
            assert found == {TABLE.get(pose_id)} or key(name) in earlier, (pose_id, name)


@pytest.mark.parametrize("file", FILES)
def test_no_name_stands_at_two_poses_of_one_language(file: str) -> None:
    owners: dict[str, str] = {}
    for pose_id, names in rows(file):
        for name in names:
            assert name.strip() == name, name
            assert key(name), name
            assert owners.setdefault(key(name), pose_id) == pose_id, name


def test_no_name_of_another_language_changes_what_an_english_one_means() -> None:
    for pose in TABLE.poses.values():
        for name in pose.names:
            shared = next((ids[0] for known, ids in SHARED_NAMES.items() if key(known) == key(name)), pose.id)
            assert TABLE.find(name).pose in (pose, TABLE.get(shared)), name


# As typed in notes by other hands; the words of a language come in its own mix of short and long forms.
TYPED = [
    ("Gato/vaca", "cat_cow"), ("Niño", "child"), ("nino", "child"), ("Perro boca abajo", "downward_dog"),
    ("Saludo al sol A", "sun_salutation_a"), ("saludos al sol b", "sun_salutation_b"), ("Guerrero 1", "warrior_1"),
    ("GUERRERO II", "warrior_2"), ("Triángulo", "triangle"), ("triangulo", "triangle"), ("Media luna", "half_moon"),
    ("Silla", "chair"), ("Águila", "eagle"), ("aguila", "eagle"), ("Árbol", "tree"), ("Puente", "bridge"),
    ("Paloma", "half_pigeon"), ("Pinza sentada", "seated_forward_fold"), ("Torsión", "supine_twist"),
    ("postura del niño", "child"), ("Perro a tres patas", "three_legged_dog"), ("piernas en la pared", "legs_up_wall"),
    ("herabschauender Hund", "downward_dog"), ("Krieger 2", "warrior_2"), ("Krieger III", "warrior_3"),
    ("Kindhaltung", "child"), ("Stellung des Kindes", "child"), ("Katze-Kuh", "cat_cow"), ("Brücke", "bridge"),
    ("Bruecke", "bridge"), ("Drehsitz", "half_lord_of_the_fishes"), ("Vierfüßlerstand", "tabletop"),
    ("Sonnengruß A", "sun_salutation_a"), ("Sonnengrüße B", "sun_salutation_b"), ("Taube", "half_pigeon"),
    ("Schmetterling", "bound_angle"), ("Unterarmstütz", "forearm_plank"), ("Kniebeugen", "squat_reps"),
    ("Schulterbrücke", "bridge"), ("Beine an der Wand", "legs_up_wall"), ("Endentspannung", "corpse"),
    ("Wechselatmung", "alternate_nostril"), ("Liegestütze", "push_up"), ("Heuschrecke", "locust"),
    ("Chien tête en bas", "downward_dog"), ("chien tete en bas", "downward_dog"), ("Posture de l'enfant", "child"),
    ("posture de l’enfant", "child"), ("Chat-vache", "cat_cow"), ("Guerrier 2", "warrior_2"), ("Arbre", "tree"),
    ("Salutation au soleil A", "sun_salutation_a"), ("Demi-lune", "half_moon"), ("Pince debout", "standing_forward_fold"),
    ("Pigeon", "half_pigeon"), ("Chandelle", "shoulderstand"), ("Torsion allongée", "supine_twist"),
    ("Fente basse", "low_lunge"), ("Demi-pont", "bridge"), ("Jambes au mur", "legs_up_wall"), ("Gainage", "forearm_plank"),
    ("Relaxation finale", "corpse"), ("Respiration alternée", "alternate_nostril"), ("Bébé heureux", "happy_baby"),
    ("Adho Mukha Śvānāsana", "downward_dog"), ("adho mukha svanasana", "downward_dog"), ("Vīrabhadrāsana II", "warrior_2"),
    ("Ūrdhva Dhanurāsana", "wheel"), ("Setu Bandhāsana", "bridge"), ("Paścimottānāsana", "seated_forward_fold"),
    ("shirshasana", "headstand"), ("Sālamba Sarvāṅgāsana", "shoulderstand"), ("Baddha Koṇāsana", "bound_angle"),
    ("Nāḍī Śodhana", "alternate_nostril"), ("Kapālabhāti", "skull_shining"), ("vrikshasana", "tree"),
]  # fmt: skip


@pytest.mark.parametrize(("typed", "pose_id"), TYPED)
def test_names_as_typed(typed: str, pose_id: str) -> None:
    assert TABLE.find(typed).pose == TABLE.get(pose_id)


@pytest.mark.parametrize(
    "typed", ["Perro boca abajo en la pared", "Taube mit Block", "Arbre avec le mur", "Baum an der Wand"]
)
def test_words_around_a_name_of_another_language_are_notes(typed: str) -> None:
    match = TABLE.find(typed)
    assert match.pose is not None
    assert match.extra


def test_a_mistyped_name_of_another_language_gives_the_nearest() -> None:
    assert TABLE.find("mariposca").nearest[0].lower() == "mariposa"
    assert TABLE.find("Schmeterling").nearest[0].lower() == "schmetterling"


# Units, sides and other words as teachers abbreviate them, and the role each must have.
WORDS = [
    ("5 Atemzüge", "Atemzüge", "units.breaths"), ("8 AZ halten", "AZ", "units.breaths"), ("10 Wdh. links", "Wdh", "units.times"),
    ("30 Sek. je Seite", "je Seite", "sides.each"), ("Seite wechseln", "Seite wechseln", "sides.other"),
    ("re Bein, dann li Bein", "re", "sides.right"), ("linke Seite nochmal", "nochmal", "again.repeat"),
    ("3 Runden schneller", "Runden", "units.rounds"), ("Musik lauter", "Musik lauter", "music.louder"),
    ("Musik aus, Atemzüge", "Musik aus", "music.off"), ("5 resp cada lado", "resp", "units.breaths"),
    ("30 seg c/lado, respiraciones", "c/lado", "sides.each"), ("el otro lado", "otro lado", "sides.other"),
    ("repetir todo, más rápido", "más rápido", "how.quick"), ("subir la música", "subir la música", "music.louder"),
    ("si hay tiempo", "si hay tiempo", "how.optional"), ("izquierda", "izquierda", "sides.left"),
    ("8 respirations de chaque côté", "de chaque côté", "sides.each"), ("D/G, côtés", "D/G", "sides.each"),
    ("3 mn, respirations", "mn", "units.minutes"), ("l'autre côté", "l'autre côté", "sides.other"),
    ("encore une fois plus vite", "plus vite", "how.quick"), ("si on a le temps", "si on a le temps", "how.optional"),
    ("baisser la musique", "baisser la musique", "music.quieter"), ("échauffement", "échauffement", "kinds.warm-up"),
    ("Endentspannung", "Endentspannung", "kinds.rest"), ("calentamiento", "calentamiento", "kinds.warm-up"),
]  # fmt: skip


@pytest.mark.parametrize(("line", "phrase", "role"), WORDS)
def test_the_words_of_a_line_have_their_roles(line: str, phrase: str, role: str) -> None:
    assert lexicon_of(spelled(line)).has(spelled(phrase), role)


def test_no_word_that_tells_a_language_is_one_of_english_names() -> None:
    english = {word for pose in TABLE.poses.values() for name in pose.names for word in spelled(name)}
    first, *others = languages()
    for other in others:
        assert (other.telling - first.telling) & english == set(), other.code


@pytest.mark.parametrize("code", ["de", "es", "fr"])
def test_a_language_says_all_that_english_says(code: str) -> None:
    said = {spoken.code: {role for roles in spoken.roles.values() for role in roles} for spoken in languages()}
    assert said["en"] <= said[code]


MINI = """
language = "Islandish"
[units]
breaths = ["puffu", "puffi"]
[sides]
each = ["per fligga"]
[numbers]
"3" = ["trinn"]
"""


def test_a_language_is_added_by_its_files_alone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    shutil.copytree(str(resources.files("pairing.plan")), tmp_path / "plan")
    (tmp_path / "plan" / "languages" / "zz.toml").write_text(MINI, encoding="utf-8")
    (tmp_path / "plan" / "languages" / "poses_zz.csv").write_text(
        "pose_id,names\ntree,Bumpel|Grosser Bumpel\n", encoding="utf-8"
    )
    caches = (languages, language._telling, language._lexicon, pose_table, poses._foreign_names, poses._words_of_table)
    for module in (language, poses):
        monkeypatch.setattr(module, "resources", SimpleNamespace(files=lambda _: tmp_path / "plan"))
    for cache in caches:
        cache.cache_clear()
    try:
        typed = lexicon_of(spelled("Bumpel trinn puffu per fligga"))
        assert typed.has(spelled("puffu"), "units.breaths")
        assert typed.has(spelled("per fligga"), "sides.each")
        assert typed.numbers[spelled("trinn")] == 3.0
        found = pose_table().find("grosser bumpel").pose
        assert found is not None
        assert found.id == "tree"
        assert not lexicon_of(spelled("tree 3 breaths each side")).has(spelled("puffu"), "units")
    finally:
        monkeypatch.undo()
        for cache in caches:
            cache.cache_clear()
