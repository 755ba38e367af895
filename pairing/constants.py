"""Published numbers of effort, breath and rest, each with its source; editorial choices are marked so.

METs: 1.0 = 3.5 mL of oxygen per kg and minute, about 1 kcal per kg and hour (Ainsworth et al., Compendium of
Physical Activities, 2000 and 2011).
"""

# ---- effort ------------------------------------------------------------------------------------------------------

# "Metabolic demands of yoga at varying tempos and compared with walking" (n = 10, sun salutations, 10-min bouts):
# 6, 4 and 3 s a pose cost 3.28 +/- 0.53, 3.64 +/- 0.61 and 4.22 +/- 0.46 METs. METs = 2.30 + 0.094 x moves a minute
# is the least-squares line through these three; its residuals are +0.04, -0.07 and +0.04.
PACE_BASE_METS = 2.30
PACE_METS_PER_MOVE_A_MINUTE = 0.094

# Ainsworth et al., 2011 Compendium, MSSE 2011;43(8):1575-1581: sitting quietly and standing quietly, both 1.3.
QUIET_METS = 1.3
RESTING_METS = 1.0  # by the definition of the MET

# Bands of absolute intensity: light below 3.0, moderate 3.0 to 5.9, vigorous from 6.0 (ACSM/AHA; PMC8321902, table 1);
# sedentary up to 1.5.
SEDENTARY_METS = 1.5
MODERATE_METS = 3.0
VIGOROUS_METS = 6.0

# Heart rate on, moderate work, 50 young adults: 33 +/- 10 s (Am J Physiol Regul Integr Comp Physiol
# 2012;303:R791-798; oxygen uptake of the same group: 22 +/- 9 s).
EFFORT_RISE_TAU_S = 33.0
# Heart rate off after 75 W: about 55 s parts fit from unfit (Wang, Su, Celler, IEEE EMBS 2006).
EFFORT_FALL_TAU_S = 55.0

HELD_FROM_BREATHS = 2.0  # a pose stayed in so long counts as held; editorial
FLOWING_TO_BREATHS = 1.0  # "one breath, one movement": common practice, no source
SMALL_MOVE_BELOW_METS = 1.7  # folds, twists and backbends held at less are done low on the floor; editorial
SUPPORTED_SHARE = 0.15  # share of a pose's cost above rest that props leave; editorial, after the table's own rows

# ---- breath and time ---------------------------------------------------------------------------------------------

USUAL_BREATH_S = 5.0  # 12 a minute; dynamic classes 4 to 6 s: common practice, no source; styles have their own
QUICKER_BREATH = 0.9  # of the likely breath, for the shortest class; editorial
SLOWER_BREATH = 1.1  # for the longest; editorial
HELD_FROM_S = 10.0  # two usual breaths; editorial
SETTLED_FROM_BREATHS, SETTLED_FROM_S = (
    4.0,
    20.0,
)  # salutations and other moves done so long are a thing of their own; editorial
OWN_PACE_RANGE = 0.06  # quicker and slower than the teacher's own pace, once it is known from
KNOWN_FROM_CLASSES = 3  # so many classes; editorial, see tests/benchmarks/own_pace.py
BRISK_BETWEEN, EASY_BETWEEN = 0.6, 1.6  # of the assumed time between poses, for the range; editorial
MOST_HELD_EACH = 5.0  # breaths of a pose held several times, each time, without a length; editorial
MOVED_FROM_TIMES = 6  # a pose done so often without a length is moved in and out of, once a breath; editorial
USUAL_PAUSE_S = 30.0  # of a pause without a length; editorial
USUAL_SILENCE_S = 60.0  # of a silence without a length; editorial
SPOKEN_WORDS_A_MINUTE = 150.0  # easy talk; common practice, no source
LEAST_TALK_S = 5.0  # editorial
LONGEST_CLASS_S = 24 * 3600.0  # what is longer than a day is a slip of the pen; editorial

# ---- rest --------------------------------------------------------------------------------------------------------

# A minute of closing rest for ten of class, four at least. Heard in the trade, and the class splits of published
# timing pages lie around it (2 to 15 minutes); common practice, no source.
LEAST_REST_S = 240.0
LONG_REST = 2.5  # times the usual rest: worth a word; editorial
# ACSM Guidelines, components of a session: 5 to 10 minutes of light to moderate activity before and after the hardest
# part (seen in a secondary source); the cool-down keeps blood from pooling.
WARM_UP_S = 300.0
EASING_S = 300.0
# 36 poses a minute, 3.3 s a breath, is the quickest pace studied (Bandyopadhyay et al., Int J Yoga 2022;15:163-167).
QUICKEST_BREATH_S = 3.3


def usual_rest_s(class_s: float) -> float:
    """Usual length of the closing rest of a class of `class_s` seconds, in seconds; whole minutes.

    >>> [usual_rest_s(60 * minutes) / 60 for minutes in (30, 45, 60, 75, 90)]
    [4.0, 5.0, 6.0, 8.0, 9.0]
    """
    return max(LEAST_REST_S, 60.0 * -(-class_s // 600.0))
