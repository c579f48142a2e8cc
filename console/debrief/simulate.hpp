#pragma once

#include <algorithm>
#include <cstdint>
#include <functional>
#include <random>
#include <span>
#include <vector>

#include "console/estimate/abundance.hpp"

/// A made-up ground whose shares are known, and a party that walks it as parties do: it looks at
/// rocks, bags what is still wanted (so its bag is not the ground), counts now and then and speaks
/// of shares with error. Judges the method; nothing here is used to advise.
namespace stonecall::debrief {

using estimate::Generator;

/// Shares from Dirichlet(alpha), alpha > 0 each; where all weight vanishes, the first class has
/// all.
std::vector<double> dirichlet(std::span<const double> alpha, Generator& generator);

struct TrueStation {
  std::vector<double> shares;  ///< of each class, adding up to 1
};

struct TrueGround {
  std::vector<TrueStation> stations;
  /// How alike neighbouring rocks are, 0 … below 1: the shares of one patch are Dirichlet around
  /// the station's.
  double patchiness = 0;
};

/// A caller whose spoken shares scatter around the true share plus a bias. Fractions.
struct TrueCaller {
  double bias = 0;
  double spread = 0.10;
};

/// A look: `rocks` rocks of one patch, counted without choosing.
std::vector<std::int64_t> look(const TrueGround& ground, std::size_t station, int rocks,
                               Generator& generator);

/// A spoken share of a class, said as a range of ten points.
estimate::SpokenShare speak(const TrueGround& ground, std::size_t station, std::size_t kind,
                            std::size_t caller, const TrueCaller& truth, Generator& generator);

struct Habits {
  double looks_per_minute = 2;
  double handling_minutes =
      4;  ///< mean time for one sample; each takes between half and one and a half times that
  double minutes_to_a_look = 12;  ///< between counts of ten
  double look_minutes = 1;
  double minutes_to_a_share = 9;  ///< between spoken shares
  std::vector<TrueCaller> callers{{}};
};

/// What has been heard of one station.
struct Heard {
  std::vector<std::vector<std::int64_t>> looks;
  std::vector<estimate::SpokenShare> shares;
  std::vector<std::int64_t> chosen;  ///< samples bagged, by class
  double looking_minutes = 0;
  int rocks_looked_at = 0;
  int samples = 0;
  double handling_minutes = 0;
};

/// What the party does, as it does it. Minutes of work since it was made.
struct Happening {
  enum class What { look, share, sample } what = What::look;
  double minute = 0;  ///< when it is done; of a sample, bagged
  std::size_t station = 0;
  std::size_t kind = 0;                               ///< of a share and a sample
  double begun = 0;                                   ///< of a sample: when it was picked
  const std::vector<std::int64_t>* counts = nullptr;  ///< of a look
  const estimate::SpokenShare* share = nullptr;
};

/// The party at work. Holds on to the ground given.
class Party {
 public:
  /// `wanted`: most samples of each class it will bag in all.
  Party(const TrueGround& ground, Habits habits, std::vector<int> wanted, std::uint64_t seed);

  /// Works at a station for so many minutes. A sample begun is finished, unless that would take it
  /// past `must_leave_in` minutes: then the rock is left lying. Returns the minutes used.
  double work(std::size_t station, double minutes, double must_leave_in);

  const Heard& heard(std::size_t station) const { return heard_[station]; }
  std::span<const int> bagged() const { return bagged_; }
  double minutes_since_last_sample() const { return since_sample_; }
  void arrive() { since_sample_ = 0; }

  /// Is told of each thing as it is done.
  void on_happening(std::function<void(const Happening&)> tell) { tell_ = std::move(tell); }
  /// The next thing it does is a count of ten.
  void count_next() { to_look_ = 0; }
  /// Bags one more of that class than it would have.
  void want_one_more(std::size_t kind) {
    wanted_[kind] = std::max(wanted_[kind], bagged_[kind]) + 1;
  }

 private:
  const TrueGround& ground_;
  Habits habits_;
  std::vector<int> wanted_;
  std::vector<int> bagged_;
  std::vector<Heard> heard_;
  Generator generator_;
  std::vector<double> patch_;
  int rocks_left_in_patch_ = 0;
  std::size_t patch_station_ = 0;
  double to_look_ = 0, to_share_ = 0, since_sample_ = 0;
  double worked_ = 0;
  std::function<void(const Happening&)> tell_ = [](const Happening&) {};
};

}  // namespace stonecall::debrief
