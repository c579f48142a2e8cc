#include "console/desk/note_reader.hpp"

#include "console/desk/beside.hpp"

namespace stonecall::desk {
namespace {

constexpr std::size_t at_a_time = 256;    // notes between two looks at what is wanted
constexpr std::size_t at_first = 32;      // about what is in sight
constexpr std::size_t newest_again = 16;  // notes that somebody may be deciding on

}  // namespace

Proposals::Proposals(Made made) {
  *this = with(std::move(made));
}

const std::vector<Proposal>* Proposals::find(const protocol::Uuid& note) const {
  for (auto part = parts_.rbegin(); part != parts_.rend(); ++part)
    if (auto found = (*part)->find(note); found != (*part)->end()) return found->second.get();
  return nullptr;
}

Proposals Proposals::with(Made more) const {
  Proposals grown = *this;
  Part added;
  for (auto& [note, made] : more) {
    made.shrink_to_fit();
    added.emplace(note, std::make_shared<const std::vector<Proposal>>(std::move(made)));
  }
  // Each part is over twice as large as the next: a note is moved and looked up few times.
  while (!grown.parts_.empty() && grown.parts_.back()->size() <= 2 * added.size()) {
    Part merged = *grown.parts_.back();
    for (auto& [note, made] : added) merged.insert_or_assign(note, std::move(made));
    added = std::move(merged);
    grown.parts_.pop_back();
  }
  if (!added.empty()) grown.parts_.push_back(std::make_shared<const Part>(std::move(added)));
  return grown;
}

NoteReader::NoteReader(Read read, std::function<void()> more)
    : read_(std::move(read)), more_(std::move(more)) {
  if (read_) thread_ = std::jthread([this](std::stop_token stop) { work(stop); });
}

NoteReader::~NoteReader() {
  thread_.request_stop();
  changed_.notify_all();
}

void NoteReader::want(picture::PicturePtr picture) {
  if (!read_ || !picture) return;
  std::lock_guard lock(mutex_);
  waiting_ = std::move(picture);
  changed_.notify_all();
}

std::shared_ptr<const Proposals> NoteReader::proposals() const {
  std::lock_guard lock(mutex_);
  return proposals_;
}

void NoteReader::settle(std::size_t newest) const {
  std::unique_lock lock(mutex_);
  changed_.wait(lock, [&] { return !waiting_ && (!busy_ || gone_through_ >= newest); });
}

void NoteReader::work(std::stop_token stop) {
  let_others_first(10);  // the figures too
  // What was read of each note, to tell an amended text from one that is known.
  std::unordered_map<protocol::Uuid, std::size_t, boost::hash<protocol::Uuid>> known;
  std::weak_ptr<const picture::Picture> last;
  std::unique_lock lock(mutex_);
  while (changed_.wait(lock, stop, [&] { return waiting_ != nullptr; })) {
    const picture::PicturePtr picture = std::exchange(waiting_, nullptr);
    const bool another = last.lock() != picture;
    last = picture;
    busy_ = true;
    gone_through_ = 0;
    std::size_t line = picture->heard.size();
    while (line > 0 && !waiting_ && !stop.stop_requested()) {
      const std::size_t seen = gone_through_;
      lock.unlock();
      Proposals::Made made;
      const std::size_t enough = seen == 0 ? at_first : at_a_time;
      std::size_t passed = 0;
      for (std::size_t read = 0; line > 0 && read < enough;) {
        const protocol::Event& event = *picture->heard[--line].event;
        const auto* note = std::get_if<protocol::VoiceNote>(&event.body);
        if (!note) continue;
        ++passed;
        const std::size_t text = std::hash<std::string>{}(note->text);
        auto [place, fresh] = known.try_emplace(event.id, text);
        const bool open =
            another && seen + passed <= newest_again && picture->heard[line].readings.empty();
        if (!fresh && place->second == text && !open) continue;
        place->second = text;
        ++read;
        auto proposals = read_(event, picture);
        // A note that is read again may state nothing any more, or the same.
        const auto before = this->proposals();
        const auto* held = before->find(event.id);
        if (held ? *held != proposals : !proposals.empty())
          made.emplace(event.id, std::move(proposals));
      }
      const bool any = !made.empty();
      auto grown =
          any ? std::make_shared<const Proposals>(proposals()->with(std::move(made))) : nullptr;
      if (any) {
        lock.lock();
        proposals_ = std::move(grown);
        lock.unlock();
        if (more_) more_();
      }
      lock.lock();
      gone_through_ += passed;
      changed_.notify_all();
    }
    busy_ = false;
    changed_.notify_all();
  }
}

}  // namespace stonecall::desk
