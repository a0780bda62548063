"""Which recordings may be trained on, by fixed rules (speakers, not utterances); `python3 split.py` prints the lists and counts."""
import csv
SP = '../shared/speech/'
AN4 = list(csv.DictReader(open(SP + 'an4/manifest.csv')))
DEV = 'fejs flrp ftmj mcel mdxn mjbh mkem'.split()          # looked at while training (development)
REST = sorted({r['speaker'] for r in AN4} - set(DEV))
TEST = REST[::5]                                            # every fifth of the others by name: never looked at while training
APART = DEV + TEST
LIBRI_APART = '3005 3080 3331 367 533'.split()
TALK_TRAIN = {r['path'].split('/')[-1] for i, r in enumerate(csv.DictReader(open(SP + 'other-talk/manifest.csv'))) if i % 2 == 0}
KOKORO_TEST = ('am_michael', 'af_sarah', 'bf_emma', 'bm_lewis')
OTHER_TEST = ('+f5', '+Michael', '+steph', 'en-gb+m8', 'awb')
def part(source, speaker):
    """'train', 'dev' (travels to be scored, never trained on) or None (stays at home)"""
    if source == 'fsdd': return None
    if source == 'an4': return 'dev' if speaker in DEV else None if speaker in TEST else 'train'
    if source == 'libri': return None if speaker in LIBRI_APART else 'train'
    if source == 'talk': return 'train' if speaker in TALK_TRAIN else None
    if source == 'sc': return 'train' if speaker[0] in '01234' else None
    assert source == 'tts' and not any(t in speaker for t in KOKORO_TEST + OTHER_TEST), speaker
    return 'train'
if __name__ == '__main__':
    import vocab as V
    num = set(V.NUMBER_WORDS) | {'and'}
    for n, s in (('development', DEV), ('test', TEST)):
        rows = [r for r in AN4 if r['speaker'] in s]; k = [r for r in rows if set(r['words'].split()) <= num]
        print(n, len(s), 'speakers:', ' '.join(s), '; utterances', len(rows), 'numbers', len(k))
