"""The columns of the season's daily results: the same places in the kernel and in its plain reference."""

# by day and bank; litres and meq are per pot
LEVEL_END_M = 0
LEVEL_MIN_M = 1
LEVEL_MAX_M = 2
INFLOW_L = 3
RAIN_L = 4
OVERFLOW_L = 5
UPTAKE_L = 6
EVAPORATION_L = 7
LEAST_UPTAKE_SHARE = 8
SALT_IN_MEQ = 9
SALT_OVERFLOW_MEQ = 10
SALT_UPTAKE_MEQ = 11
FREE_L = 12
MEDIUM_L = 13
SALT_FREE_MEQ = 14
SALT_MEDIUM_MEQ = 15
SALT_FED_MEQ = 16
BANK_COLUMNS = 17

# by day; litres and meq of the tank
TANK_END_L = 0
TANK_MIN_L = 1
TANK_SALT_MEQ = 2
WATER_ADDED_L = 3
SOURCE_SALT_MEQ = 4
STOCK_SALT_MEQ = 5
DRAWN_L = 6
SHORT_L = 7
TANK_COLUMNS = 8
