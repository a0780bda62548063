"""What a technician says at the bench, for new synthetic speech in training voices.  usage: say_list.py SEED N > LIST.tsv
Rows: file TAB voice (one stock voice, or two mixed half and half) TAB words.  Written before any measuring; no test phrase was looked at."""
import glob, os, random, sys
import vocab as V
SEED, N = int(sys.argv[1]), int(sys.argv[2])
r = random.Random(SEED)
TEST = {'am_michael', 'af_sarah', 'bf_emma', 'bm_lewis'}
ALL = sorted(os.path.basename(p)[:-4] for p in glob.glob('/tmp/kok/package/voices/*.bin'))
EN = [v for v in ALL if v[:2] in ('af', 'am', 'bf', 'bm') and v not in TEST]
DIG, TEEN, TENS = V.DIG, V.TEEN, V.TENS
D9 = DIG[1:]
COMMANDS = ('say again|read back|where are we|limits|stop|stand by|standby|go ahead|disregard|correction|affirm|affirmative|negative|roger|words twice|'
            'done|go back|unable|note|finding|part|yes|no|okay|down').split('|')
UNITS = ('p s i|psi|volts|amps|ohms|degrees|degrees celsius|degrees fahrenheit|percent|millimeters|inches|feet|pounds|foot pounds|newton meters|quarts|pints|ounces|'
         'fluid ounces|liters|milliliters|milli liters|cubic centimeters|c c|r p m|rpm|hours|minutes|kilopascals|thou|bar|gallons').split('|')
PLACES = 'cylinder|cylinder|cylinder|cell|bolt|plug|number'.split('|')
ORD = 'first second third fourth fifth sixth seventh eighth ninth tenth eleventh twelfth thirteenth fourteenth fifteenth sixteenth seventeenth eighteenth nineteenth twentieth thirtieth'.split()
MONTHS = 'january february march april may june july august september october november december'.split()
WORN = 'tan fouled oily wet dry clean dirty worn scored cracked missing torn pitted corroded bent loose tight milky black grey brown white none clear cloudy pink replaced good bad empty full'.split()
THINGS = 'impeller|housing|seal|ring|gasket|hose|pump|grease|wear ring|belt|anode|hull|battery|coolant|antifreeze|oil|filter|spark plug|nozzle|throttle cable|lanyard|water|cover|screw|clamp'.split('|')
NEAR = [('fifteen', 'fifty'), ('thirteen', 'thirty'), ('fourteen', 'forty'), ('sixteen', 'sixty'), ('seventeen', 'seventy'), ('eighteen', 'eighty'), ('nineteen', 'ninety'),
        ('sixty', 'seventy'), ('sixteen', 'seventeen'), ('five', 'nine'), ('fifty', 'sixty'), ('one', 'nine'), ('oh', 'four'), ('eight', 'eighty'), ('thirty', 'forty')]
c = r.choice
def two(): return [c(TEEN)] if r.random() < .3 else [c(TENS)] + ([c(D9)] if r.random() < .65 else [])
def gauge():
    """60 to 300 as said: one ninety, one niner zero, two oh five, one hundred and eighty eight, ninety five"""
    k = r.random()
    if k < .45: return [c(['one', 'one', 'two'])] + (two() if r.random() < .8 else ['oh', c(D9)])
    if k < .65: return [c(['one', 'two']), c(DIG + ['niner']), c(DIG + ['oh', 'niner'])]
    if k < .8: return [c(['one', 'two']), 'hundred'] + (['and'] if r.random() < .4 else []) + two()
    return two()
def decimals():
    k = r.random()
    if k < .3: return [c(['twelve', 'thirteen', 'eleven', 'fourteen']), c(D9 + ['oh'])]
    if k < .8: return (two() if r.random() < .5 else [c(DIG)]) + [c(['point', 'point', 'decimal'])] + [c(DIG) for _ in range(c([1, 1, 2]))]
    return [c(['one', 'two', 'zero']), c(['point', 'decimal']), c(DIG), c(DIG), c(DIG)]
def doubled():
    w = []
    while len(w) < c([2, 3, 3, 4, 4, 5, 6]): w += [c(DIG + ['oh', 'oh', 'eight'])] * c([1, 2, 2, 3])
    return w[:7]
def near():
    a, b = r.sample(c(NEAR), 2) if r.random() < .4 else (c(c(NEAR)), c(c(NEAR)))
    k = r.random()
    if k < .3: return [a]
    if k < .6: return [c(['one', 'two'])] + [a]
    if k < .8: return [a, b]
    return ['cylinder', c(D9[:4]), c(['one', 'two']), a]
def fraction():
    k = r.random(); part = c('eighth sixteenth thirty-second sixty-fourth half quarter tenth hundredth thousandth'.split()); n = c(D9 + ['eleven', 'thirteen', 'fifteen'])
    part = {'half': 'halves' if n != 'one' else 'half'}.get(part, part if n == 'one' else part + 's').replace('-', ' ')
    w = [n] + part.split()
    if part.startswith('thousand') or r.random() < .2: w += 'of an inch'.split()
    if k < .25: w = [c(D9), 'and'] + w
    elif k < .4: w = [c(D9), 'and', 'a', c(['half', 'quarter', 'eighth'])]
    elif k < .5: w = [c(['a', 'one']), c(['half', 'quarter', 'eighth', 'sixteenth', 'third'])]
    elif k < .6: w = ['q'] + [c(DIG)] if r.random() < .5 else ['one', 'quarter']
    return w
def date():
    o = [c(ORD)] if r.random() < .6 else [c(['twenty', 'thirty']), c(ORD[:9])]
    return c([[c(MONTHS)] + o, o + ['of', c(MONTHS)], ['the'] + o + ['of', c(MONTHS)], [c(MONTHS)] + two(), o])
def words():
    k = r.random()
    if k < .30: return c(COMMANDS).split()
    if k < .36: return c(['correction', 'correction', 'finding', 'note', 'unable', 'disregard', 'part']).split() + c([gauge(), [c(WORN)], c(THINGS).split() + [c(WORN)]])
    if k < .58:
        w = c([gauge, gauge, decimals, two])()
        if r.random() < .5: w = c(PLACES).split() + [c(D9[:6])] + w
        return w + (c(UNITS).split() if r.random() < .45 else [])
    if k < .68: return doubled()
    if k < .80: return near()
    if k < .87: return fraction()
    if k < .91: return date()
    if k < .96: return c([c(THINGS).split() + [c(WORN)], [c(WORN)], [c(WORN), 'and', c(WORN)], c(PLACES).split() + [c(D9[:4]), c(WORN)]])
    return [c(V.ICAO) for _ in range(c([1, 2, 3]))]
for n in range(N):
    v = c(EN if r.random() < .85 else [x for x in ALL if x not in TEST])
    if r.random() < .5: v += '+' + c([x for x in EN if x != v])
    print('n%d_%04d.ogg\t%s\t%s' % (SEED, n, v, ' '.join(words())))
