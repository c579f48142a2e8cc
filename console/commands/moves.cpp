#include "console/commands/moves.hpp"

#include <algorithm>
#include <optional>
#include <tuple>

namespace stonecall::commands {
namespace {

using protocol::Instant;
using What = Clue::What;

class Sweep {
 public:
  Sweep(std::vector<Clue> clues, const std::string& base) : clues_(std::move(clues)), base_(base) {
    std::ranges::stable_sort(clues_, {},
                             [](const Clue& clue) { return std::pair(clue.at, clue.what); });
  }

  Moves run() {
    for (std::size_t i = 0; i < clues_.size(); ++i) {
      const Clue& clue = clues_[i];
      switch (clue.what) {
        case What::arrived:
          be_at(clue.station);
          break;
        case What::present:
          if (here_ != clue.station && (here_.empty() || others_agree(i))) be_found(clue);
          break;
        case What::told:
          if (here_.empty()) tell(clue.at);
          break;
        case What::left:
          leave(clue);
          break;
      }
    }
    give_up();
    return std::move(moves_);
  }

 private:
  void be_at(const std::string& station) {
    give_up();
    here_ = station;
    towards_.clear();
  }

  void be_found(const Clue& clue) {
    const bool expected = here_.empty() && towards_ == clue.station && told_;
    moves_.arrivals.push_back({expected ? told_->from : clue.at, clue.station, clue.why});
    if (expected) told_.reset();
    be_at(clue.station);
  }

  /// Do all signs up to the next word of moving speak of the same other station?
  bool others_agree(std::size_t from) const {
    std::size_t signs = 0;
    for (std::size_t i = from; i < clues_.size(); ++i) {
      if (clues_[i].what == What::arrived || clues_[i].what == What::left) break;
      if (clues_[i].what != What::present) continue;
      if (clues_[i].station != clues_[from].station) return false;
      ++signs;
    }
    return signs >= 2;
  }

  void tell(Instant at) {
    if (!told_) told_ = NowhereTold{at, at, 0, towards_};
    told_->to = at;
    ++told_->facts;
  }

  void leave(const Clue& clue) {
    if (here_.empty()) {
      const bool again = !clue.station.empty() && clue.station == left_;
      if (!clue.station.empty() && clue.station != base_ && !again) {
        stand(clue.station, clue.at, "it was left there, and no arrival was called");
      } else if (clue.station.empty() && !towards_.empty() && told_) {
        stand(towards_, clue.at, "they were heading there, told of the ground, and left again");
      }
    } else if (!clue.station.empty() && clue.station != here_) {
      return;  // the word is of another place than all before it
    }
    left_ = here_.empty() ? clue.station : here_;
    here_.clear();
    give_up();
    towards_ = clue.towards;
  }

  /// They were at the station since the first thing told, else only as they left.
  void stand(const std::string& station, Instant left, const std::string& why) {
    moves_.arrivals.push_back({told_ ? told_->from : left, station, why});
    told_.reset();
    here_ = station;
  }

  /// What was told on the way and not found a place for.
  void give_up() {
    if (told_) moves_.nowhere.push_back(*std::exchange(told_, std::nullopt));
  }

  std::vector<Clue> clues_;
  const std::string& base_;
  Moves moves_;
  std::string here_, towards_, left_;
  std::optional<NowhereTold> told_;  ///< since they left
};

}  // namespace

Moves infer_moves(std::vector<Clue> clues, const std::string& base) {
  return Sweep(std::move(clues), base).run();
}

}  // namespace stonecall::commands
