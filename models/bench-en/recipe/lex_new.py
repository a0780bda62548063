"""Adds the words of the lay-up that lexicon.txt lacks (CMUdict, or SAID), and a second way to say *thou* (a thousandth of an inch).  usage: lex_new.py CMUDICT"""
import sys, collections
import vocab as V
import more_words
W = '''eighth eighths sixteenth sixteenths fourths tenth tenths thousandth thousandths hundredth hundredths fifths sixths sevenths ninths
first second third fourth fifth sixth seventh eighth ninth tenth eleventh twelfth thirteenth fourteenth fifteenth sixteenth seventeenth eighteenth nineteenth twentieth thirtieth
january february march april may june july august september october november december
q a b c d e f g h i j k l m n o p r s t u v w x y z tan fouled oily milli cubic centimeters centimetres millilitres millimetres cc fluid imperial affirmative standby grams kilograms kilopascal
rings screws seals washers whisky xray ray slash hoses clamps plugs bolts aft fore top bottom clamp wheel plug hose dash before after all an number half reddish burnt sooty blistered glazed sticking seized leaking broken frayed chafed rusty dented swollen'''.split()
SAID = {'xray': ['EH K S R EY'], 'whisky': ['W IH S K IY'], 'cc': ['S IY S IY'], 'thou': ['TH AW'], 'millilitres': ['M IH L AH L IY T ER Z'], 'centimetres': ['S EH N T AH M IY T ER Z'], 'millimetres': ['M IH L AH M IY T ER Z'], 'milli': ['M IH L IY', 'M IH L AH'],
        'fouled': ['F AW L D'], 'oily': ['OY L IY'], 'chafed': ['CH EY F T'], 'standby': ['S T AE N D B AY'], 'sooty': ['S UH T IY'], 'kilopascal': ['K IH L AH P AE S K AE L', 'K IH L OW P AE S K AE L'], 'a': []}
have = collections.defaultdict(list)
for l in open('lexicon.txt'): w, p = l.rstrip('\n').split('\t'); have[w].append(p)
cm = collections.defaultdict(list)
for l in open(sys.argv[1]):
    p = l.split('#')[0].split()
    if p: cm[p[0].split('(')[0]].append(' '.join(x.rstrip('012') for x in p[1:]))
with open('lexicon.txt', 'a') as f:
    for w in dict.fromkeys(W):
        if have[w] and w != 'thou': continue
        ps = SAID.get(w) or cm.get(w) or []
        if not ps: print('no pronunciation:', w)
        for p in dict.fromkeys(ps): f.write(w + '\t' + p + '\n')
    if 'TH AW' not in have['thou']: f.write('thou\tTH AW\n')
