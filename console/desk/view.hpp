#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <unordered_map>
#include <vector>

#include <boost/container_hash/hash.hpp>
#include <boost/uuid/uuid_hash.hpp>

#include "console/advise/assessment.hpp"
#include "console/desk/at_the_end.hpp"
#include "console/desk/kept_posts.hpp"
#include "console/picture/picture.hpp"
#include "protocol/event.hpp"
#include "protocol/plan.hpp"

/// What is shown. Immutable: a source makes one beside the window thread and hands it over whole.
namespace stonecall::desk {

enum class Mode { live, replay, practice };

/// State of the way to the server, live use only.
struct LinkState {
  enum class Kind { none, connecting, connected, lost, refused };
  Kind kind = Kind::none;
  std::string words;                                   ///< server's address, or why it is lost
  std::optional<protocol::Instant> since;              ///< when this state began
  std::size_t waiting = 0;                             ///< posts not yet acknowledged
  std::optional<protocol::Milliseconds> clock_offset;  ///< server's clock less ours
  /// The post that the server refused last; it is no longer part of the picture.
  struct Refused {
    protocol::EventPtr event;
    std::string why;
  };
  std::optional<Refused> refused;
  std::vector<KeptElsewhere> elsewhere;  ///< posts kept for other servers and exercises
  /// Posts from before anybody knew which exercise it was, that are not in its hours: a person says
  /// whether they are for it.
  std::size_t unclaimed = 0;
};

/// A moment of a recorded log worth a jump.
struct Landmark {
  enum class Kind { arrival, departure, sample, call, pin };
  protocol::Instant at{};  ///< when it was known; of a pin laid beside the log: what it marks
  Kind kind{};
  std::string words;    ///< of a pin
  bool beside = false;  ///< laid beside the log: no part of what was known then
};

/// Where the player stands in a recorded log.
struct Playback {
  bool playing = false;
  double speed = 1;  ///< 1–600
  protocol::Instant begin{}, end{};
  /// In order of time; null where the future is hidden.
  std::shared_ptr<const std::vector<Landmark>> landmarks;
  /// What is known at the end is to be laid beside; never where the future is hidden.
  bool end_beside = false;
};

/// A fact that a voice note seems to state; counts for nothing until a person accepts it.
struct Proposal {
  protocol::Words words;  ///< where in the note's text
  protocol::Fact fact;
  double sureness = 0;                    ///< 0–1; our own ranking, not a frequency
  std::vector<protocol::Fact> also = {};  ///< decided with `fact`
  /// Where `fact` amends a statement: the others that the same amendment has to reach.
  std::vector<protocol::Uuid> also_amends = {};
  bool operator==(const Proposal&) const = default;
};

/// Proposals by note. Immutable: a larger one shares what it holds with the smaller.
class Proposals {
 public:
  using Made =
      std::unordered_map<protocol::Uuid, std::vector<Proposal>, boost::hash<protocol::Uuid>>;
  Proposals() = default;
  explicit Proposals(Made made);

  const std::vector<Proposal>* find(const protocol::Uuid& note) const;  ///< null: none
  /// These and more; of a note that is in both, what is in `more` counts.
  Proposals with(Made more) const;

 private:
  /// What was made of a note is shared by all that hold it: it is merged without being copied.
  using Part = std::unordered_map<protocol::Uuid, std::shared_ptr<const std::vector<Proposal>>,
                                  boost::hash<protocol::Uuid>>;
  std::vector<std::shared_ptr<const Part>> parts_;
};

struct View {
  Mode mode = Mode::replay;
  std::string source;       ///< file name or server, for the title line
  protocol::Instant now{};  ///< the moment pictured; in live use the field's clock as known here

  picture::PicturePtr picture;  ///< null until the first event
  /// Null until first worked out; may be older than `picture` (see numbers_age.hpp).
  std::shared_ptr<const advise::Assessment> assessment;
  picture::PicturePtr assessed;  ///< the picture that `assessment` was worked out from
  /// Of the same moment as `assessment`; null: not asked for, the future is hidden, or not worked
  /// out yet.
  std::shared_ptr<const AtTheEnd> at_the_end;

  std::shared_ptr<const Proposals> proposals;  ///< by note; null: none are made

  LinkState link;
  std::optional<Playback> playback;  ///< replay and practice
  /// Practice on a log: the party does what it did then, and hears nothing of what is called now.
  bool recorded_party = false;
  std::optional<bool> held;  ///< practice at a server that can hold its time: it does
  /// Replay: why what is laid beside the log could not be written down; live: why posts that wait
  /// could not.
  std::string not_kept;
  std::string not_held;  ///< why it could not be held, or go on, when that was asked last

  /// Null where the future is hidden, whatever a source hands over.
  const AtTheEnd* end() const { return mode == Mode::replay ? at_the_end.get() : nullptr; }
  const protocol::Plan* plan() const {
    return picture && picture->plan ? &*picture->plan : nullptr;
  }
  /// Null where nothing is weighed, or was not yet.
  const advise::Advice* advice() const {
    return assessment && assessment->advice ? &*assessment->advice : nullptr;
  }
};

}  // namespace stonecall::desk
