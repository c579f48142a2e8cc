#pragma once

#include <span>
#include <string_view>

namespace stonecall::reading {

/// What a word or phrase of field speech does in a note.
enum class Sense {
  none,
  // naming things
  bag,
  sample,
  number,
  piece,
  one,
  // taking and moving
  pick,
  arrive,
  leave,
  finished,
  toward,
  at,
  now,
  // photographs
  stereo,
  down_sun,
  after,
  after_weak,
  pair,
  photo,
  // amounts
  percent,
  approx,
  at_most,
  at_least,
  less,
  exactly,
  quantity,
  no_quantity,
  rest,
  every,
  half_half,
  // counting
  count,
  look,
  in_a_row,
  row_is_all,
  // size and burial
  unit,
  compare,
  sized,
  size_of,
  side,
  thing_within,
  distance,
  buried,
  burial,
  exposed,
  loose,
  under,
  // what is not so
  no,
  none_here,
  not_,
  sees_not,
  seen,
  guess,
  cannot_tell,
  wish,
  recall,
  gear,
  idiom,
  restart,
  but,
  // putting right
  correction,
  soft_correction,
  retract,
  // asking
  asks,
  asks_anywhere,
  // describing
  colour,
  texture,
  shape,
  because,
  relation,
  // little words
  conj,
  is,
  determiner,
  preposition,
  filler,
};

/// A phrase as it is spoken. The values of an amount are percent, of a size millimetres.
struct Phrase {
  std::string_view words;
  Sense sense = Sense::none;
  double low = 0;
  double high = 0;
};

/// The reader's own words; the team's rocks and stations come from the plan.
std::span<const Phrase> phrases();

}  // namespace stonecall::reading
