#pragma once

#include <vector>

#include "console/reading/draft.hpp"

/// The steps of reading a note, in the order in which they run. Each is one pass over the items, or
/// a bounded look around each of them.
namespace stonecall::reading {

/// Finds questions to the back room and mutes what stands in them.
void read_questions(Draft& draft);

/// Mutes what is guessed, wished, recalled or said of gear.
void mark_hedges(Draft& draft);

/// Finds field numbers and bag numbers. Proposes nothing yet.
void find_labels(Draft& draft);

/// Mutes what was said wrong and put right inside the note, and proposes the change when an earlier
/// note is put right.
void read_corrections(Draft& draft);

/// Kinds said not to be here; "not basalt" only denies this one rock.
void read_absences(Draft& draft);

/// Photographs of the documented-sample set.
void read_photos(Draft& draft);

/// Longest dimension.
void read_sizes(Draft& draft);

/// Something said of how much, in words or figures.
struct Amount {
  Draft::At first = 0;
  Draft::At last = 0;
  Portion percent;
  bool figures = false;  ///< said as a number, not as a word such as "common"
  bool rest = false;     ///< "the rest": what the other amounts leave
  bool all = false;      ///< "all", "everything": counts only close to a rock
};
std::vector<Amount> find_amounts(const Draft& draft);

/// How much was under the surface. Takes the amounts that it uses out of the list.
void read_burial(Draft& draft, std::vector<Amount>& amounts);

/// Counts over kinds.
void read_tallies(Draft& draft);

/// What part each kind makes up.
void read_shares(Draft& draft, const std::vector<Amount>& amounts);

/// Samples picked up, field numbers, bags.
void read_samples(Draft& draft);

/// Arrivals and departures.
void read_movements(Draft& draft);

/// Kinds that are here.
void read_rocks(Draft& draft);

/// Colour, texture, shape, why picked, relation to what is around.
void read_traits(Draft& draft);

}  // namespace stonecall::reading
