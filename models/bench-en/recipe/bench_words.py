"""The vocabulary of the lay-up over that of the pack: `import bench_words` extends vocab.VOCAB; TRAINED is what training calls known
(the rest of the lexicon is sometimes an unknown word, so that the model keeps a unit for what it does not know)."""
import vocab as V
import more_words
import ast, re
_src = open(__file__.replace('bench_words', 'lex_new')).read()
NEW = [w for w in dict.fromkeys(re.search(r"W = '''(.*?)'''", _src, re.S).group(1).split()) if w not in V.VOCAB]
V.VOCAB.extend(NEW)
ALWAYS = set('this is the of to not with no a an all before after are we where i he him in on'.split())
TRAINED = set(V.VOCAB) - ALWAYS | {'no', 'on'}
