#pragma once

#include <iosfwd>
#include <map>
#include <stop_token>
#include <string>

/// `stonecall feed FILE`: posts the cues of a caption file to a server as voice notes.
namespace stonecall::commands {

struct FeedOptions {
  std::string captions;        ///< file: WebVTT (.vtt) or SubRip (.srt)
  std::string server;          ///< host:port
  std::string token;           ///< empty: none
  std::string start;           ///< RFC 3339: when the recording began
  double offset_seconds = 0;   ///< by how much the recorder's clock was slow; negative: fast
  std::string from = "FIELD";  ///< who speaks where a cue does not say
  std::map<std::string, std::string> voices;  ///< sender's name by voice tag; else the tag itself
  std::string source;         ///< what the notes' ids are made from; empty: the file's name
  bool follow = false;        ///< go on as the file grows, until asked to stop
  int patience_seconds = 30;  ///< how long a server may stay away; with `follow` it is waited for
};

/// Posts each cue once, whatever part of the file was posted before: a note's id follows from the
/// source and the cue. Broken cues are named by line on `err` and skipped; so are progress and
/// trouble with the link. A followed file that shrank, or in whose place another was put, is read
/// from its beginning; one that is not there yet is waited for. Returns the exit code: 0 every cue is stored, 1 some were skipped or refused, 2 the options or the file
/// cannot be used, 3 the server did not take all of them.
int feed(const FeedOptions& options, std::stop_token stop, std::ostream& out, std::ostream& err);

}  // namespace stonecall::commands
