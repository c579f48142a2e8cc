#pragma once

#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "console/picture/picture.hpp"
#include "console/reading/reader.hpp"
#include "protocol/event.hpp"

/// From the single facts that a note states to what a person accepts with one key: a sample with
/// all that was said of it, a tally with its counts, a correction with the event that it puts
/// right.
namespace stonecall::reading {

struct Proposed {
  protocol::Words
      words;  ///< bytes of the note's text, from the first to the last word that it was read from
  protocol::Fact fact;
  double sureness = 1;  ///< of the least sure part, 0–1
  /// Stands or falls with `fact`: the same correction of the other statements it has to reach.
  std::vector<protocol::Fact> also = {};
  bool operator==(const Proposed&) const = default;
};

/// Vocabulary of a plan: its rock kinds, its stations and its base with their spoken names.
Vocabulary vocabulary_of(const protocol::Plan& plan);

/// What is known when a note is spoken, at any moment of a picture. Made once for all its notes:
/// time and memory go with its samples, those of a moment with their logarithm.
class Contexts {
 public:
  explicit Contexts(const picture::Picture& picture);
  Context at(const picture::Picture& picture, picture::Instant now) const;

 private:
  /// What was named last, from a moment on.
  struct Last {
    picture::Instant from{};
    std::string sample, bag;
  };
  std::vector<Last> last_;  ///< in order of time
  std::shared_ptr<const SampleNumbers::Taken> taken_;
};

/// The same for a single note.
Context context_at(const picture::Picture& picture, picture::Instant now);

/// Joins facts of one note spoken at `now`. A kind that stands in a share, a tally or a sample is
/// not proposed as a sighting besides; a correction reaches what was stated up to `now`, and one
/// that fits nothing is left out. Kinds that the plan does not list are left out where the plan
/// lists any.
std::vector<Proposed> proposed(const std::vector<Proposal>& facts, std::string_view text,
                               const Context& context, const picture::Picture& picture,
                               picture::Instant now);

}  // namespace stonecall::reading
