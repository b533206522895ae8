"""Addresses of workouts, classes, results and boards, under /api/v1/."""

from django.urls import path

from . import (
    boards,
    briefing,
    classes,
    follow_up,
    follow_up_words,
    messages,
    privacy,
    progress,
    requests,
    results,
    setups,
    workouts,
)

urlpatterns = [
    path("workouts/", workouts.Workouts.as_view(), name="api-workouts"),
    path("workouts/preview/", workouts.Preview.as_view(), name="api-workout-preview"),
    path("workouts/<int:pk>/", workouts.Workout.as_view(), name="api-workout"),
    path("classes/", classes.Classes.as_view(), name="api-classes"),
    path("classes/<int:pk>/", classes.Class.as_view(), name="api-class"),
    path("classes/<int:pk>/open/", classes.Open.as_view(), name="api-class-open"),
    path("classes/<int:pk>/close/", classes.Close.as_view(), name="api-class-close"),
    path("classes/<int:pk>/reopen/", classes.Reopen.as_view(), name="api-class-reopen"),
    path("classes/<int:pk>/attendance/", classes.Attendance.as_view(), name="api-attendance"),
    path("classes/<int:pk>/try/", classes.Try.as_view(), name="api-try"),
    path("classes/<int:pk>/briefing/", briefing.Briefing.as_view(), name="api-briefing"),
    path("classes/<int:pk>/mine/", setups.MyVersion.as_view(), name="api-mine"),
    path("classes/<int:pk>/results/", results.Results.as_view(), name="api-results"),
    path("classes/<int:pk>/board/", boards.Board.as_view(), name="api-board"),
    path("classes/<int:pk>/board.csv", boards.BoardFile.as_view(), name="api-board-csv"),
    path("classes/<int:pk>/requests/", requests.Requests.as_view(), name="api-requests"),
    path("requests/<int:pk>/answer/", requests.Answer.as_view(), name="api-answer"),
    path("results/<int:pk>/", results.ResultOne.as_view(), name="api-result"),
    path("results/<int:pk>/after/", progress.AfterView.as_view(), name="api-result-after"),
    path("results/<int:pk>/corrections/", results.Corrections.as_view(), name="api-correct"),
    path("results/<int:pk>/withdrawal/", results.Withdrawal.as_view(), name="api-withdraw"),
    path("follow-ups/", follow_up.FollowUps.as_view(), name="api-follow-ups"),
    path("follow-ups/away/", follow_up.Away.as_view(), name="api-follow-ups-away"),
    path("follow-ups/away/<int:pk>/", follow_up.AwayOne.as_view(), name="api-follow-up-away"),
    path("follow-ups/words/", follow_up_words.AllWords.as_view(), name="api-follow-up-words"),
    path(
        "follow-ups/words/<slug:reason>/",
        follow_up_words.WordsOne.as_view(),
        name="api-follow-up-words-one",
    ),
    path(
        "follow-ups/settings/",
        follow_up_words.FollowUpSettings.as_view(),
        name="api-follow-up-settings",
    ),
    path("members/<int:pk>/follow-up/", follow_up.MemberFollowUp.as_view(), name="api-follow-up"),
    path(
        "members/<int:pk>/follow-up/draft/", follow_up.Draft.as_view(), name="api-follow-up-draft"
    ),
    path(
        "members/<int:pk>/follow-up/letters/",
        follow_up.Letters.as_view(),
        name="api-follow-up-letters",
    ),
    path("me/gear/", setups.MySetup.as_view(), name="api-gear"),
    path("me/progress/", progress.Progress.as_view(), name="api-progress"),
    path("me/messages/", messages.MyMessages.as_view(), name="api-messages"),
    path("me/privacy/", privacy.Privacy.as_view(), name="api-privacy"),
    path("me/export/", privacy.Export.as_view(), name="api-export"),
    path("me/export/<str:token>/", privacy.ExportFile.as_view(), name="api-export-file"),
    path("me/erasure/", privacy.ErasureOne.as_view(), name="api-erasure"),
    path("me/history/", results.History.as_view(), name="api-history"),
]
