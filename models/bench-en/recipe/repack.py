"""data.bin/json of the quarry -> what may be trained on by split.py, plus new synthetic speech.  usage: repack.py QUARRY OUT DIR...   (DIR/manifest.tsv: file samples voice words)"""
import sys, os, io, json, collections, numpy as np, soundfile as sf
import split
Q, OUT, DIRS = sys.argv[1], sys.argv[2], sys.argv[3:]
src = open(Q + '.bin', 'rb').read(); ix = []; out = open(OUT + '.bin', 'wb'); off = 0
def put(b, n, words, source, speaker, dev):
    global off
    out.write(b); ix.append([off, len(b), n, words, source, speaker, dev]); off += len(b)
import vocab as V
third = collections.Counter(); NUM = set(V.NUMBER_WORDS) | {'and'}
for o, b, n, w, source, speaker, _ in json.load(open(Q + '.json')):
    p = split.part(source, speaker)
    if source == 'tts' and speaker.split(':')[0] in ('espeak', 'flite'):
        third[speaker.split(':')[0]] += 1
        if third[speaker.split(':')[0]] % 3 == 0: continue                 # to fit what may travel (64 MiB)
    if os.environ.get('THIN') and source == 'tts':                        # a checkpoint travels too
        if speaker.startswith('festival'): continue
        if speaker.startswith('kokoro'):
            third['kokoro'] += 1
            if third['kokoro'] % 3 == 0: continue
    if p == 'train' or (p == 'dev' and set(w.split()) <= NUM): put(src[o:o + b], n, w, source, speaker, int(p == 'dev'))
for d in DIRS:
    for l in open(d + '/manifest.tsv'):
        f, _, v, w = l.rstrip('\n').split('\t'); v = v if ':' in v else 'kokoro:' + v; split.part('tts', v)
        x, sr = sf.read(d + '/' + f); assert sr == 16000; b = io.BytesIO(); sf.write(b, x, 16000, format='OGG', subtype='OPUS', compression_level=.93); put(b.getvalue(), len(x), w, 'bench', v, 0)
out.close(); json.dump(ix, open(OUT + '.json', 'w'))
c = collections.defaultdict(lambda: [0, 0, 0])
for x in ix:
    k = x[4] + (':' + x[5].split(':')[0] if x[4] in ('tts', 'bench') else '') + (' dev' if x[6] else ''); c[k][0] += 1; c[k][1] += x[2] / 960000; c[k][2] += x[1] / 1e6
for k, (n, m, z) in c.items(): print('%-16s %5d utterances %6.1f min %5.2f MB' % (k, n, m, z))
print(len(ix), 'utterances', round(off / 1e6, 2), 'MB')
