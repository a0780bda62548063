"""Common English words and first names that are not of the bench's vocabulary: what the unknown-word unit must take.

A hand-made list (from memory: everyday words, tools, food, places, names). Words that sound like one of the vocabulary
are left out (*for*, *to*, *won*, *ate*), and those of Speech Commands, whose apart speakers measure how well unknown
words are
refused.
"""

from words import VOCABULARY

_LISTED = """
about actually afternoon agree almost along already always animal another answer anybody anything apple apron arm around
ask away baby bacon bag ball banana banner basket bath beach beautiful because become bedroom beer behind believe bell
better between bicycle big bill birthday biscuit bit blanket blood blue board boat body book boot boots boring boss both
bottle bowl box boy branch bread breakfast brick bridge bright bring brother brush bucket building burger bus business busy
butter button cake call camera can candle car card careful carpet carry castle catch ceiling central chair cheap cheese
cherry chicken child chimney chocolate church city class climb clock cloth cloud coat coffee coin come common
complete concert cook cookie copy corner cotton country couple cousin cow crazy cream cross crowd cup curtain cut dad dance
danger dark daughter day dear deep dentist desk dictionary different difficult dinner dirt dish doctor dollar door
dozen dragon draw dream dress drink driver drop duck dust each ear early earth east easy eat egg elbow elephant
else email energy enough evening every exactly example excuse expensive face factory family famous far farm fast father
favourite fence few field fight film finger fire fish floor flower fly food football forest forget fork forward
free friday friend frog fruit fun funny furniture game garage garden gate gentle ghost gift giraffe girl give glass glove
goal gold goodbye grandma grass green grocery group grow guess guitar guy hair hammer hand happen hard hat have head
hear heart heavy hello hill history hobby holiday home honey horse hospital hungry hurry husband
ice idea important inside internet island jacket jar jeans jelly jewel joke juice jump jungle just keep kettle key kick kid
kind king kiss kitchen kite knee knife knock ladder lady lake lamp land language laptop large late laugh lazy leaf
learn leather leave leg lemon lesson letter library life light like lion lip little live lock long look lose lot
lottery loud love lucky lunch machine magazine magic mail make man many map market marvellous matter maybe meal mean meat
medicine meeting melon menu message middle milk mind mirror miss mister model moment monday money monkey month moon morning
mother mountain mouse mouth move movie much museum mushroom music must name narrow nature near neck need neighbour never new
news newspaper nice night nobody noise nothing now nurse ocean office often old onion only orange other outside oven
owner paint pan paper parent park party pencil people pepper perfect person phone piano picnic picture piece pig pillow
pizza place
plan plane plant plastic plate play please pocket police pool poor potato pretty problem promise pull purple push
puzzle quick quiet quite rabbit radio rain rather reach really reason remember restaurant rice rich ride river road
rock roof room rose round rubber rule run sad salad salt sandwich saturday sausage school science scissors season
secret send shadow shake shape share sheep sheet shelf shirt shoe shop shoulder shout shower sick silver simple sing
sister sit sleep slow small smart smell smile smoke snake snow soap sock sofa soft somebody something sometimes son
song soon sorry soup south space speak special spider spoon sport spring squirrel stairs stamp star station stay steak
stick stone store storm story straight strange street string strong student sugar suit summer sun sunday sunny supper sure
surprise swim table talk tall tape taste taxi teacher team tell tennis tent thank that theatre their them then there
thing think thirsty throw thursday ticket tiger tired toast today together toilet tomato tomorrow tongue
tonight tool tooth touch towel town toy traffic train trash travel trip trouble trousers truck true truth try tuesday turkey
turtle ugly umbrella uncle understand until useful usually vegetable very village visit voice wake walk wall want warning
wash watch wave weather wednesday weekend welcome well what when which who wide wife wild will wind window
winter wish woman wonder wood work world worry would wrong yellow yesterday young your zebra zip
alice amanda andrew angela anna anthony barbara benjamin betty brandon brian carol catherine charles christine christopher
daniel david deborah dennis diana donald dorothy edward elizabeth emily emma eric ethan frank gary george grace gregory hannah
harold heather helen henry howard isaac jack jacob james janet jason jeffrey jennifer jeremy jessica joan john jonathan joseph
joshua julia karen katherine kevin kimberly larry laura lauren linda lisa louise margaret maria mary matthew
megan melissa michael michelle nancy nathan nicholas nicole olivia pamela patricia patrick paul peter philip rachel raymond
rebecca richard robert ronald ruth samantha samuel sandra sarah scott sharon shirley simon sophia stephanie steven
susan teresa thomas timothy tyler vincent virginia walter wayne william
"""
COMMON: tuple[str, ...] = tuple(word for word in dict.fromkeys(_LISTED.split()) if word not in VOCABULARY)
