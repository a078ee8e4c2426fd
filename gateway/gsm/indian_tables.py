"""Letters of the scripts of the Indian subcontinent in septets, code by code, for `national_tables`.

A space stands where a table has nothing of its own. Source: 3GPP TS 23.038 version 18, A.2.4 to A.2.13 (single shift) and A.3.4 to A.3.13
(locking shift); code points of Unicode, one a septet. The standard prints U+0CAA twice in Kannada; at 0x24, between ṭha and ḍha, ḍa is meant.
"""

from collections.abc import Mapping

LETTERS: Mapping[int, str] = {
    4: (  # Bengali
        "ঁংঃঅআইঈউঊঋ\nঌ \r এঐ  ওঔকখগঘঙচ ছজঝঞ !টঠডঢণত)(থদ'ধ.ন0123456789:; পফ?"
        "বভমযর ল   শষসহ়ঽািীুূৃৄ  েৈ  োৌ্ৎabcdefghijklmnopqrstuvwxyzৗড়ঢ়ৰৱ"
    ),
    5: (  # Gujarati
        "ઁંઃઅઆઇઈઉઊઋ\nઌઍ\r એઐઑ ઓઔકખગઘઙચ છજઝઞ !ટઠડઢણત)(થદ'ધ.ન0123456789:; પફ?"
        "બભમયર લળ વશષસહ઼ઽાિીુૂૃૄૅ ેૈૉ ોૌ્ૐabcdefghijklmnopqrstuvwxyzૠૡૢૣ૱"
    ),
    6: (  # Hindi
        "ँंःअआइईउऊऋ\nऌऍ\rऎएऐऑऒओऔकखगघङच छजझञ !टठडढणत)(थद'ध.न0123456789:;ऩपफ?"
        "बभमयरऱलळऴवशषसह़ऽािीुूृॄॅॆेैॉॊोौ्ॐabcdefghijklmnopqrstuvwxyzॲॻॼॾॿ"
    ),
    7: (  # Kannada
        " ಂಃಅಆಇಈಉಊಋ\nಌ \rಎಏಐ ಒಓಔಕಖಗಘಙಚ ಛಜಝಞ !ಟಠಡಢಣತ)(ಥದ'ಧ.ನ0123456789:; ಪಫ?"
        "ಬಭಮಯರಱಲಳ ವಶಷಸಹ಼ಽಾಿೀುೂೃೄ ೆೇೈ ೊೋೌ್ೕabcdefghijklmnopqrstuvwxyzೖೠೡೢೣ"
    ),
    8: (  # Malayalam
        " ംഃഅആഇഈഉഊഋ\nഌ \rഎഏഐ ഒഓഔകഖഗഘങച ഛജഝഞ !ടഠഡഢണത)(ഥദ'ധ.ന0123456789:; പഫ?"
        "ബഭമയരറലളഴവശഷസഹ ഽാിീുൂൃൄ െേൈ ൊോൌ്ൗabcdefghijklmnopqrstuvwxyzൠൡൢൣ൹"
    ),
    9: (  # Oriya
        "ଁଂଃଅଆଇଈଉଊଋ\nଌ \r ଏଐ  ଓଔକଖଗଘଙଚ ଛଜଝଞ !ଟଠଡଢଣତ)(ଥଦ'ଧ.ନ0123456789:; ପଫ?"
        "ବଭମଯର ଲଳ ଵଶଷସହ଼ଽାିୀୁୂୃୄ  େୈ  ୋୌ୍ୖabcdefghijklmnopqrstuvwxyzୗୠୡୢୣ"
    ),
    10: (  # Punjabi
        "ਁਂਃਅਆਇਈਉਊ \n  \r ਏਐ  ਓਔਕਖਗਘਙਚ ਛਜਝਞ !ਟਠਡਢਣਤ)(ਥਦ'ਧ.ਨ0123456789:; ਪਫ?"
        "ਬਭਮਯਰ ਲਲ਼ ਵਸ਼ ਸਹ਼ ਾਿੀੁੂ    ੇੈ  ੋੌ੍ੑabcdefghijklmnopqrstuvwxyzੰੱੲੳੴ"
    ),
    11: (  # Tamil
        " ஂஃஅஆஇஈஉஊ \n  \rஎஏஐ ஒஓஔக   ஙச  ஜ ஞ !ட   ணத)(  ' .ந0123456789:;னப ?"
        "  மயரறலளழவஶஷஸஹ  ாிீுூ   ெேை ொோௌ்ௐabcdefghijklmnopqrstuvwxyzௗ௰௱௲௹"
    ),
    12: (  # Telugu
        "ఁంఃఅఆఇఈఉఊఋ\nఌ \rఎఏఐ ఒఓఔకఖగఘఙచ ఛజఝఞ !టఠడఢణత)(థద'ధ.న0123456789:; పఫ?"
        "బభమయరఱలళ వశషసహ ఽాిీుూృౄ ెేై ొోౌ్ౕabcdefghijklmnopqrstuvwxyzౖౠౡౢౣ"
    ),
    13: (  # Urdu
        "اآبٻڀپڦتۂٿ\nٹٽ\rٺټثجځڄڃڅچڇحخد ڌڈډڊ !ڏڍذرڑړ)(ڙز'ږ.ژ0123456789:;ښسش?"
        "صضطظعفقکڪګگڳڱلمنںڻڼوۄەہھءیېےٍُِٗٔabcdefghijklmnopqrstuvwxyzّٰٕٖٓ"
    ),
}
"""Language → the character of each of the 128 septets, where this table is locked in."""
SIGNS_OF_ALL = "@£$¥¿\"¤%&'\f*+ -/<=>¡^¡_#*"
"""Behind an escape, from septet 0x00 on, in each of these languages; from 0x41 on stand the capital letters A to Z."""
SIGNS_FROM = 0x19
SIGNS: Mapping[int, str] = {
    4: "০১ ২৩৪৫৬৭৮৯য়ৠৡৢ  ৣ৲৳৴৵ ৶৷৸৹৺",
    5: "।॥ ૦૧૨૩૪૫૬૭૮૯",
    6: "।॥ ०१२३४५६७८९॒॑  ॓॔क़ख़ग़ ज़ड़ढ़फ़य़ॠॡॢॣ॰ॱ",
    7: "।॥ ೦೧೨೩೪೫೬೭೮೯ೞೱ  ೲ",
    8: "।॥ ൦൧൨൩൪൫൬൭൮൯൰൱  ൲൳൴൵ൺ ൻർൽൾൿ",
    9: "।॥ ୦୧୨୩୪୫୬୭୮୯ଡ଼ଢ଼  ୟ୰ୱ",
    10: "।॥ ੦੧੨੩੪੫੬੭੮੯ਖ਼ਗ਼  ਜ਼ੜਫ਼ੵ",
    11: "।॥ ௦௧௨௩௪௫௬௭௮௯௳௴  ௵௶௷௸௺",
    12: "   ౦౧౨౩౪౫౬౭౮౯ౘౙ  ౸౹౺౻౼ ౽౾౿",
    13: "\u0600\u0601 ۰۱۲۳۴۵۶۷۸۹،؍  ؎؏ؐؑؒ ؓؔ؛؟ـْ٘٫٬ٲٳۍ   ۔",
}
"""Language → its own signs behind an escape, from septet SIGNS_FROM on."""
