#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <tuple>
#include <vector>

#include "console/picture/state.hpp"

namespace stonecall::picture {

/// Order of the fold: time, then the server's order, then anything that is the same everywhere.
using FoldKey = std::tuple<Instant, std::uint64_t, Uuid>;

/// What the fold of some events came to, to go on from without them.
struct FoldBase {
  State state;
  std::vector<Flag> flags;  ///< of alterations
  std::size_t events = 0;
  std::optional<FoldKey> last;  ///< where the last of them stands
  /// What was known besides and stands after them, as it came: the fold goes on with it.
  std::vector<EventPtr> tail{};
  /// Those of the tail that alter what is folded: it says so already.
  std::vector<Uuid> worked_in{};
};

/// The events behind a picture, each with what was altered of it later, in the order of the fold.
/// Users take Fold or History.
class Ledger {
 public:
  explicit Ledger(FoldBase base = {});
  ~Ledger();
  Ledger(Ledger&&) noexcept;
  Ledger& operator=(Ledger&&) noexcept;

  void add(EventPtr event);
  /// The picture of all events so far, those of the base included. The first call after an add does
  /// the folding.
  PicturePtr picture();
  /// What all events so far came to.
  FoldBase base();
  /// What those before all of `recent` came to, with everything that is known by now worked in, and
  /// the others as its tail: a fold on it may alter what it has in the tail. None where the tail
  /// would be longer than `longest`, or something in it was altered by what stands before it.
  std::optional<FoldBase> base_before(std::span<const EventPtr> recent, std::size_t longest);
  /// How many events the next picture has to fold, for the first time or again.
  std::size_t to_fold() const;
  /// True once an event came that belongs among those of the base: the picture is then wrong.
  bool outgrown() const;

 private:
  struct Pages;
  std::unique_ptr<Pages> pages_;
};

/// The events that this one alters or reads from.
std::vector<Uuid> named_by(const protocol::Event& event);

}  // namespace stonecall::picture
