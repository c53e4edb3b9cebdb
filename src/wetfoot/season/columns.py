"""The columns of the season's daily results: the same places in the kernel and in its plain reference."""

# by day and bank; litres are per pot
LEVEL_END_M = 0
LEVEL_MIN_M = 1
LEVEL_MAX_M = 2
INFLOW_L = 3
RAIN_L = 4
OVERFLOW_L = 5
UPTAKE_L = 6
EVAPORATION_L = 7
LEAST_UPTAKE_SHARE = 8
FED_L = 9  # of both stocks together, poured into the pot at a visit
LEAKED_L = 10
FREE_L = 11
MEDIUM_L = 12
EC_FREE_MS_CM = 13  # at the end of the day; not a number where there is no free solution
EC_MEDIUM_MS_CM = 14
EC_TOP_MS_CM = 15
ELEMENTS_MG_L = 16  # and the seven after it: the elements of `feed.ELEMENTS` in the free solution
BANK_COLUMNS = 24

# by day
TANK_END_L = 0
TANK_MIN_L = 1
WATER_ADDED_L = 2
STOCK_ADDED_L = 3  # of each stock
DRAWN_L = 4
SHORT_L = 5
TANK_ELEMENTS_MG_L = 6  # and the seven after it, at the end of the day; not a number in an empty tank
TANK_COLUMNS = 14

# by slot, bank, row and species, in mmol per pot; a slot is a day, or the whole season
TAKEN_IN = 0
FED = 1
OVERFLOW = 2
UPTAKE = 3
LEAKED = 4
FREE_END = 5
MEDIUM_END = 6
BANK_ROWS = 7

# by slot, row and species, in mmol
FROM_SOURCE = 0
FROM_STOCKS = 1
TANK_END = 2
TANK_ROWS = 3

LEAST_FREE_L = 0.02  # of free solution in a pot, for its EC to mean something

EMPTY_TANK_L = 1e-6  # below a microlitre what is left is rounding, and its composition means nothing
