#pragma once

#include <cstdint>
#include <memory>
#include <optional>
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
  /// True once an event came that belongs among those of the base: the picture is then wrong.
  bool outgrown() const;

 private:
  struct Pages;
  std::unique_ptr<Pages> pages_;
};

/// The events that this one alters or reads from.
std::vector<Uuid> named_by(const protocol::Event& event);

}  // namespace stonecall::picture
