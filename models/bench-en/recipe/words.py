"""The vocabulary: every word that the bench model can write, by kind. Which of them training may also call unknown.

Nothing here but lists; `lexicon.py` says how each is pronounced, `sayings.py` what is said with them.
"""


def listed(words: str) -> tuple[str, ...]:
    """The words between the blanks."""
    return tuple(words.split())


FIGURES = listed("zero one two three four five six seven eight nine")
TEENS = listed("ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen")
TENS = listed("twenty thirty forty fifty sixty seventy eighty ninety")
NUMBER_WORDS = (*FIGURES, *TEENS, *TENS, "oh", "niner", "hundred", "thousand", "point")
"""Short and frequent: each has acoustic units of its own."""
RADIO = {"fower": "four", "fife": "five", "tree": "three"}
"""Radiotelephone ways to say a figure (ICAO Annex 10, volume II, 5.2.1.4.3): further pronunciations of it."""
ORDINALS = listed(
    """first second third fourth fifth sixth seventh eighth ninth tenth eleventh twelfth thirteenth fourteenth fifteenth
    sixteenth seventeenth eighteenth nineteenth twentieth thirtieth"""
)
PARTS = listed(
    """half halves quarter quarters thirds fourths fifths sixths sevenths eighths ninths tenths sixteenths hundredth
    hundredths thousandth thousandths double triple"""
)
MONTHS = listed("january february march april may june july august september october november december")
ICAO = listed(
    """alpha bravo charlie delta echo foxtrot golf hotel india juliett kilo lima mike november oscar papa quebec romeo
    sierra tango uniform victor whiskey x-ray yankee zulu"""
)
SPELLED_OTHERWISE = listed("alfa juliet whisky xray ray")
LETTERS = tuple("abcdefghijklmnopqrstuvwxyz")
UNITS = listed(
    """inch inches foot feet pound pounds volt volts amp amps ohm ohms degree degrees fahrenheit celsius percent rpm psi
    bar second seconds minute minutes hour hours quart quarts pint pints gallon gallons ounce ounces liter liters litre
    litres milliliters millilitres millimeter millimeters millimetres centimeters centimetres meter meters metre metres
    newton kilopascal kilopascals grams kilograms thou cc milli cubic fluid imperial square per
    millivolt millivolts milliamp milliamps megapascals"""
)
COMMANDS = listed(
    """say again correction affirm affirmative negative next skip yes no cancel stop start begin end go back repeat undo
    delete clear save note record pause resume help item step done pass fail left right confirm okay check open close ready
    up down on off previous last read measure mark set test good bad high low hot cold continue finish wait mute listen
    enter page reading number serial photo over disregard stand standby by ahead words twice roger unable finding part
    limits where are we"""
)
TRADE = listed(
    """cylinder compression leak pressure temperature voltage torque engine oil fuel valve spark plug plugs port starboard
    bow stern front rear side inner outer upper lower above below top bottom fore aft before after cell bolt bolts screw
    screws nut washer washers cover filter seal seals ring rings gasket impeller housing battery antifreeze coolant
    stabilizer water throttle lanyard hose hoses pump nozzle cable grease wear belt anode hull clamp clamps wheel
    fault faults code customer price later job technician anodes cells nuts stud studs leaks lot date week year bank charge
    charged drive shaft propeller exhaust intake air ethanol ground positive terminal sides"""
)
CONDITIONS = listed(
    """clean dirty worn scored cracked missing torn pitted corroded bent loose tight dry wet milky black grey brown white
    tan reddish none fine empty full cloudy pink replaced fouled oily burnt sooty blistered glazed sticking seized leaking
    broken frayed chafed rusty dented swollen closed fair flat fresh stale warm ok"""
)
JOINING = listed("and minus decimal slash dash not all with an is this the of to a")

VOCABULARY: tuple[str, ...] = tuple(
    dict.fromkeys(
        (
            *(*NUMBER_WORDS, *RADIO, *ORDINALS, *PARTS, *MONTHS, *ICAO, *SPELLED_OTHERWISE),
            *(*UNITS, *COMMANDS, *TRADE, *CONDITIONS, *JOINING, *LETTERS),
        )
    )
)
SOMETIMES_UNKNOWN = frozenset(listed("this is the of to not with a an all before after are we where i"))
"""In other people's talk these words are everywhere: there training may call them unknown, as it does any foreign word."""
