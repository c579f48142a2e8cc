#pragma once

#include <memory>
#include <mutex>
#include <string>
#include <string_view>
#include <unordered_map>
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
  /// Stands or falls with `fact`.
  std::vector<protocol::Fact> also = {};
  /// Where `fact` amends a statement: the other statements that the same amendment has to reach.
  /// Their ids alone, for there may be hundreds.
  std::vector<protocol::Uuid> also_amends = {};
  bool operator==(const Proposed&) const = default;
};

/// All that is decided with one key: `fact`, `also`, and `fact` for each of `also_amends`.
std::vector<protocol::Fact> facts_of(const Proposed& proposed);

/// Vocabulary of a plan: its rock kinds, its stations and its base with their spoken names.
Vocabulary vocabulary_of(const protocol::Plan& plan);

/// The events of a picture that state something of a sample by its number, in order of time. Looked
/// for in all that was heard when it is asked for first; may be asked from several threads, while
/// the picture is there.
class Statements {
 public:
  struct Statement {
    protocol::Uuid id{};
    picture::Instant at{};
    bool number = false, bag = false, rock = false;  ///< what it gives
  };
  explicit Statements(const picture::Picture& picture) : picture_(picture) {}
  const std::vector<Statement>& about(const std::string& number) const;

 private:
  const picture::Picture& picture_;
  mutable std::once_flag looked_;
  mutable std::unordered_map<std::string, std::vector<Statement>> by_number_;
};

/// What is known when a note is spoken, at any moment of a picture. Made once for all its notes:
/// time and memory go with its samples, those of a moment with their logarithm. The picture has to
/// be there while a context is used.
class Contexts {
 public:
  explicit Contexts(const picture::Picture& picture);
  Context at(const picture::Picture& picture, picture::Instant now) const;

 private:
  /// What was named last, from a moment on.
  struct Last {
    picture::Instant from{};
    std::string sample, bag;
    bool unnumbered = false;
  };
  std::vector<std::string> party_;
  std::vector<std::string> back_room_;
  std::vector<Last> last_;  ///< in order of time
  std::shared_ptr<const SampleNumbers::Taken> taken_;
  std::shared_ptr<const Statements> statements_;
};

/// The same for a single note.
Context context_at(const picture::Picture& picture, picture::Instant now);

/// Joins facts of one note spoken at `now`. A number that is given later goes to the rock picked up
/// last, which has none: by its bag, else as a correction of what was stated of it. A kind that
/// stands in a share, a tally or a sample is not proposed as a sighting besides; a correction
/// reaches what was stated up to `now`, and one that fits nothing is left out. Kinds that the plan
/// does not list are left out where the plan lists any.
std::vector<Proposed> proposed(const std::vector<Proposal>& facts, std::string_view text,
                               const Context& context, const picture::Picture& picture,
                               picture::Instant now);

/// Reads a note spoken at `now` and joins its facts. What the shares of the note before left is
/// looked for in the picture, where the note asks for it.
std::vector<Proposed> read_note(const Reader& reader, std::string_view text, Context context,
                                const picture::Picture& picture, picture::Instant now);

}  // namespace stonecall::reading
