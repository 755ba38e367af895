"""Published numbers of sound and music, each with its source; editorial choices are marked so."""

# --- Loudness ---------------------------------------------------------------------------------------------
# ITU-R BS.1770-4 (10/2015), Annex 1. The two K-weighting filters are tabulated there at 48 kHz; the analogue
# prototype below reproduces both rows to 1e-12 and serves every other rate by the bilinear transform.
K_SHELF_HZ = 1681.974450955533
K_SHELF_DB = 3.999843853973347
K_SHELF_Q = 0.7071752369554196
K_SHELF_BAND_EXPONENT = 0.4996667741545416
K_HIGHPASS_HZ = 38.13547087602444
K_HIGHPASS_Q = 0.5003270373238773
LOUDNESS_OFFSET_LU = -0.691  # BS.1770-4, equation 2
ABSOLUTE_GATE_LUFS = -70.0  # BS.1770-4: blocks at or below do not count
RELATIVE_GATE_LU = -10.0  # BS.1770-4: under the mean of what passed the absolute gate
SURROUND_WEIGHT = 1.41  # BS.1770-4, table 3: side and rear channels; the front ones count 1.0, the LFE 0
LOUDNESS_STEP_S = 0.01  # fine enough that no window misses a 400-ms tone by more than 0.06 LU (Tech 3341, case 13)
GATING_STEPS = 10  # BS.1770-4: gating blocks overlap by 75 % of 400 ms, so one begins every 100 ms
MOMENTARY_STEPS = 40  # EBU Tech 3341: 400 ms
SHORT_TERM_STEPS = 300  # EBU Tech 3341: 3 s
RANGE_GATE_LU = -20.0  # EBU Tech 3342 v4: relative gate of the loudness range
RANGE_PERCENTILES = (10.0, 95.0)  # EBU Tech 3342 v4

# --- Tempo and beats --------------------------------------------------------------------------------------
# G. Percival, G. Tzanetakis, "Streamlined tempo estimation based on autocorrelation and cross-correlation
# with pulses", IEEE/ACM TASLP 22(12), 2014.
COMPRESSION_EXPONENT = 0.5  # generalised autocorrelation: |spectrum| to this power
TEMPO_RANGE_BPM = (50.0, 210.0)
# D. Ellis, "Beat tracking by dynamic programming", Journal of New Music Research 36(1), 2007.
BEAT_TIGHTNESS = 100.0

# --- Key --------------------------------------------------------------------------------------------------
# C. L. Krumhansl, E. J. Kessler, Psychological Review 89(4), 1982; as printed in Krumhansl, "Cognitive
# Foundations of Musical Pitch", 1990, table 2.1 (from memory). From the tonic upwards.
KEY_PROFILE_MAJOR = (6.35, 2.23, 3.48, 2.33, 4.38, 4.09, 2.52, 5.19, 2.39, 3.66, 2.29, 2.88)
KEY_PROFILE_MINOR = (6.33, 2.68, 3.52, 5.38, 2.60, 3.53, 2.54, 4.75, 3.98, 2.69, 3.34, 3.17)
