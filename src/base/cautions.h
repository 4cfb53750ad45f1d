/* The cautions shown wherever the program tells someone to touch a model, all in one place: brief
 * beside the advice and on the sheet of cards, in whole sentences in the report. Help texts and the
 * linkage's drawing have room for a few words only and carry those themselves. */
#ifndef CAUTIONS_H
#define CAUTIONS_H

#define CAUTION_POWER                                                                              \
    "Rotor blades and propeller off, or motor and drive made unable to turn, before power is "     \
    "applied. Horn off before the first power-up. Hands, hair and card clear of gears."

#define CAUTION_RULES_WITH(apostrophe)                                                             \
    "A photo checks an angle, not a model" apostrophe                                              \
    "s airworthiness: the model maker" apostrophe                                                  \
    "s instructions, club and national rules come first."
#define CAUTION_RULES CAUTION_RULES_WITH("'")
#define CAUTION_RULES_IN_PRINT CAUTION_RULES_WITH("’")

#define CAUTION_FULL_POWER                                                                         \
    "Take the rotor blades or the propeller off, or make motor and drive unable to turn, before "  \
    "power is applied."
#define CAUTION_FULL_HANDS                                                                         \
    "Take the horn off before the first power-up. Keep hands, hair and the card clear of gears."
#define CAUTION_FULL_RULES                                                                         \
    "A photo checks an angle, not a model's airworthiness. The model maker's instructions and "    \
    "the rules of club and country come first."

#endif
