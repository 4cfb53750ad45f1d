/* The cautions shown wherever the program tells someone to touch a model: sheet, advice, report,
 * page. One wording for all. */
#ifndef CAUTIONS_H
#define CAUTIONS_H

#define CAUTION_POWER                                                                              \
    "Rotor blades off, or motor and drive made unable to turn, before power is applied. Horn off " \
    "before the first power-up. Hands, hair and card clear of gears."

#define CAUTION_RULES                                                                              \
    "A photo checks an angle, not a model's airworthiness: the model maker's instructions, club "  \
    "and national rules come first."

#endif
